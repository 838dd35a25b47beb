"""Findings count their places from the corner of the output page, however it grew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.findings import counted, listed, note, on_page, one_by_one


def test_spots_move_with_the_page_and_what_has_none_stays():
    placed = replace(note("here", "here"), spot=(10.0, 4.0))
    nowhere = note("nowhere", "nowhere")
    # the page began at 0 0 and grew by 1.7 mm to the left: what was 10 from its edge is 11.7 now
    assert on_page([placed, nowhere], -1.7, 0.0) == (replace(placed, spot=(11.7, 4.0)), nowhere)


@pytest.mark.parametrize(
    ("number", "noun", "plural", "text"),
    [
        (0, "shape", "", "0 shapes"),
        (1, "shape", "", "1 shape"),
        (2, "notch", "", "2 notches"),
        (3, "tip or neck", "tips and necks", "3 tips and necks"),
    ],
)
def test_nouns_agree_with_their_number(number, noun, plural, text):
    assert counted(number, noun, plural) == text


def test_lists_of_names_end_with_how_many_more():
    assert listed(["a", "b"], 2) == "a, b"
    assert listed(["a", "b", "c"], 2) == "a, b and 1 more"


def test_up_to_twelve_places_get_a_finding_each():
    assert one_by_one([]) == []
    assert one_by_one(range(12)) == [[n] for n in range(12)]
    assert [len(some) for some in one_by_one(range(13))] == [13]
