"""What people see after each message: old pictures stay until new ones are whole."""

from __future__ import annotations

from functools import reduce

from preprocess.errors import Complaint, Place
from preprocess.watch.messages import (
    Began,
    Drawn,
    Failed,
    FindingLine,
    Finished,
    Found,
    Mistaken,
    Named,
    View,
)
from preprocess.watch.state import Shown, WatchState, carried_on, state_data

WARNING = FindingLine("warn", "a tip is narrow")
GOOD = [
    Began(), Named("fern.svg"), Found((WARNING,)), Drawn(View.CHANGES, b"1"),
    Drawn(View.HEAT, b"2", "worst place +3 %", coarse=True),
    Drawn(View.HEAT, b"3", "worst place +1 %"), Finished(),
]  # fmt: skip


def after(*messages) -> WatchState:
    return reduce(carried_on, messages, WatchState())


def test_a_run_shows_each_thing_as_soon_as_it_is_there():
    assert after(*GOOD[:3]).findings == (WARNING,)
    assert after(*GOOD[:3]).pictures == {}
    assert after(*GOOD[:5]).pictures[View.HEAT] == Shown(2, 1, "worst place +3 %", coarse=True)
    state = after(*GOOD)
    assert (state.run, state.busy) == (1, False)
    assert state.pictures == {
        View.CHANGES: Shown(1, 1),
        View.HEAT: Shown(3, 1, "worst place +1 %"),
    }


def test_a_mistake_keeps_pictures_and_findings_and_says_of_which_run_they_are():
    mistake = Complaint("by is 'widht'", "did you mean width?", Place("fern.yaml", 23, 21))
    state = after(*GOOD, Began(("/beds/fern.yaml",)), Mistaken((mistake,)), Finished())
    assert state.mistakes == (("fern.yaml:23:21", "by is 'widht'; did you mean width?"),)
    assert (state.run, state.saved) == (2, ("fern.yaml",))
    assert (state.findings, state.found_by) == ((WARNING,), 1)
    assert {shown.run for shown in state.pictures.values()} == {1}


def test_a_finding_that_stops_stands_where_mistakes_do():
    stop = FindingLine("stop", "'PVC' names a chlorinated plastic")
    state = after(*GOOD, Began(), Found((stop, WARNING), stopped=True), Finished())
    assert state.mistakes == (("", "'PVC' names a chlorinated plastic"),)
    assert state.found_by == 1


def test_old_heat_stays_beside_new_changes():
    state = after(*GOOD, Began(), Found(()), Drawn(View.CHANGES, b"4"))
    assert {view: shown.run for view, shown in state.pictures.items()} == {
        View.CHANGES: 2,
        View.HEAT: 1,
    }


def test_what_failed_is_told_until_the_next_result():
    state = after(*GOOD, Began(), Failed("The worker died."))
    assert (state.failure, state.busy) == ("The worker died.", False)
    assert carried_on(state, Began()).failure == "The worker died."
    assert after(*GOOD, Began(), Failed("The worker died."), *GOOD).failure == ""


def test_text_that_turns_around_is_written_out():
    state = after(
        Began(("/a/\u202efern.yaml",)), Named("\u202efern"), Found((FindingLine("warn", "\u202e"),))
    )
    assert "\u202e" not in str(state_data(state))
    assert state.title == "\\u202efern"


def test_on_the_page_a_number_and_its_unit_stay_on_one_line() -> None:
    state = after(
        Drawn(View.HEAT, b"", "8.9 → 11.5 s, 28 mm"), Found((FindingLine("note", "3 mm"),))
    )
    data = state_data(state)
    assert (
        data["pictures"][View.HEAT]["says"]
        == "8.9 → 11.5\N{NO-BREAK SPACE}s, 28\N{NO-BREAK SPACE}mm"
    )
    assert data["findings"][0]["text"] == "3\N{NO-BREAK SPACE}mm"
