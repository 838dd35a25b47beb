"""Findings count their places from the corner of the output page, however it grew."""

from __future__ import annotations

from dataclasses import replace

from preprocess.findings import note, on_page


def test_spots_move_with_the_page_and_what_has_none_stays():
    placed = replace(note("here", "here"), spot=(10.0, 4.0))
    nowhere = note("nowhere", "nowhere")
    # the page began at 0 0 and grew by 1.7 mm to the left: what was 10 from its edge is 11.7 now
    assert on_page([placed, nowhere], -1.7, 0.0) == (replace(placed, spot=(11.7, 4.0)), nowhere)
