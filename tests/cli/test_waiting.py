"""Progress: slots add up, a long single step moves its bar, pipes stay silent."""

from __future__ import annotations

import io
from contextlib import contextmanager

import pytest
from rich.console import Console

from preprocess.cli import files, waiting
from preprocess.marking.solver.hearing import heard_by, overheard
from preprocess.recipe.load import load_recipe

LEAF = b"""<svg xmlns="http://www.w3.org/2000/svg" width="12mm" height="8mm" viewBox="0 0 12 8">
<path d="M2 2 L10 2 L6 6 Z"/></svg>"""
RECIPE = """recipe: 1
settings: {engrave: {power: 60 %, speed: 400 mm/s, pitch: 0.2 mm, direction: one-way}}
passes:
  - merge
  - interleave
  - solve-power
"""


def test_slots_fill_a_hundred_and_no_slot_more_than_its_own() -> None:
    filled: list[float] = []
    slots = waiting.Slots([1, 20, 4], filled.append)
    slots.done()
    assert sum(filled) == pytest.approx(4)
    slots.hear(0.5)
    assert sum(filled) == pytest.approx(4 + 20)
    for _ in range(9):
        slots.hear(1.0)
    assert sum(filled) == pytest.approx(4 + 80)
    slots.done()
    slots.done()
    slots.hear(1.0)
    assert sum(filled) == pytest.approx(100)


def test_the_bar_moves_within_the_step_that_simulates(monkeypatch) -> None:
    filled: list[float] = []

    @contextmanager
    def bar(total, doing, *, quiet=False):  # noqa: ARG001 - as the real one
        yield lambda pieces=1.0: filled.append(pieces)

    monkeypatch.setattr(waiting, "progress_bar", bar)
    drawing = files.DrawingFile(LEAF, "leaf.svg", None)
    files.convert_drawing(load_recipe(None, RECIPE), drawing)
    assert sum(filled) == pytest.approx(100 * 94 / 95)
    assert len(filled) > 4 + 2
    assert max(filled) < 100 * 91 / 95


def test_nobody_hears_what_is_told_elsewhere_or_afterwards() -> None:
    outer: list[float] = []
    inner: list[float] = []
    with heard_by(outer.append):
        with heard_by(inner.append):
            overheard(0.25)
        overheard(0.5)
    overheard(1.0)
    assert (outer, inner) == ([0.5], [0.25])


def test_a_terminal_shows_time_taken_and_left_and_a_pipe_nothing(monkeypatch) -> None:
    for terminal in (True, False):
        shown = io.StringIO()
        made = Console(file=shown, force_terminal=terminal, width=90)
        monkeypatch.setattr("rich.console.Console", lambda made=made, **_: made)
        with waiting.progress_of("heat") as tell:
            tell(0.5)
        assert ("50/100" in shown.getvalue() and "left:" in shown.getvalue()) is terminal
        assert terminal or not shown.getvalue()
