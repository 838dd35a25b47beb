"""A run tells each thing as soon as it is known: files, findings, changes, coarse heat, heat."""

from __future__ import annotations

import pytest

from preprocess.marking.heat.effort import Effort
from preprocess.watch.messages import (
    Drawn,
    Failed,
    Finished,
    Found,
    Mistaken,
    Named,
    Opened,
    View,
)
from tests.watch.made_run import DRAWING, RECIPE, messages_of_a_run


@pytest.fixture
def told(tmp_path, monkeypatch):
    """The messages of a run of a recipe, or of the drawing alone."""
    monkeypatch.chdir(tmp_path)
    return messages_of_a_run


def kinds(messages):
    return [type(one) for one in messages]


def test_what_is_known_first_is_told_first(told):
    messages = told()
    assert kinds(messages) == [Opened, Named, Found, Drawn, Drawn, Found, Drawn, Drawn, Finished]
    _, named, first, changes, coarse, last, full, playback, _ = messages
    assert (named.title, named.note) == ("label.svg", "")
    assert set(first.lines) < set(last.lines)  # those of the heat come later
    drawn = [(one.view, one.coarse) for one in (changes, coarse, full)]
    assert drawn == [(View.CHANGES, False), (View.HEAT, True), (View.HEAT, False)]
    for one in (changes, coarse, full):
        assert one.data.startswith(b"<?xml")
    assert "worst place" in full.says
    assert (playback.view, playback.data[:15]) == (View.PLAYBACK, b"<!DOCTYPE html>")


def test_the_quick_look_is_quicker(told, monkeypatch):
    from preprocess.marking import prediction

    efforts = []

    def noted(*arguments, effort, **more):
        efforts.append(effort)
        return real(*arguments, effort=effort, **more)

    real = prediction.heat_index_of_plan
    monkeypatch.setattr(prediction, "heat_index_of_plan", noted)
    told()
    assert efforts == [Effort.PREVIEW] * 2 + [Effort.BOUNDED] * 2


def test_without_heat_the_changes_are_the_last(told):
    assert kinds(told(heat=False)) == [Opened, Named, Found, Drawn, Finished]


def test_a_mistake_is_told_with_its_place_and_nothing_is_drawn(told):
    opened, mistaken, finished = told(RECIPE.replace("merge", "mereg"))
    assert (opened.whole, finished) == (False, Finished())
    (complaint,) = mistaken.complaints
    assert str(complaint.place) == "label.yaml:6:10"


def test_a_mistake_in_the_drawing_is_told_too(told, tmp_path):
    (tmp_path / "label.svg").write_text(DRAWING.replace("</svg>", ""))
    kinds_told = kinds(told())
    assert kinds_told[-2:] == [Mistaken, Finished]
    assert Drawn not in kinds_told


def test_nothing_is_drawn_of_plastic_that_must_not_be_marked(told):
    messages = told(RECIPE.replace("PETG", "PVC"))
    assert kinds(messages) == [Opened, Named, Found, Finished]
    assert messages[2].stopped
    assert any("chlorinated" in line.text for line in messages[2].lines if line.label == "stop")


def test_a_drawing_alone_is_measured_and_that_is_said(told):
    messages = told(heat=False, named="label.svg")
    assert messages[1].note == (
        "no recipe is named, so one was measured; name label.yaml to take the one there"
    )


def test_a_bug_is_ours_and_says_so(told, monkeypatch):
    monkeypatch.setattr("preprocess.pipeline.make_overlay", lambda *_: 1 / 0)
    assert told()[-1] == Failed(
        "This is a bug in evenmark, not in your files: ZeroDivisionError; "
        "evenmark run makes a report of it."
    )
