"""State of a watched job as people see it: a value that each message of a run carries on."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preprocess.plain_text import escape_directions
from preprocess.preview.drawing.tied_units import tied
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

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.watch.messages import Message


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture that is shown: its number, the run it is of, and what is said of it."""

    number: int
    run: int
    says: str = ""
    coarse: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchState:
    """All that the page shows but the pictures themselves.

    `run` counts from 1. `mistakes` are places, which may be empty, with sentences; while there are
    any, or a `failure`, pictures and findings are those of an earlier run.
    """

    run: int = 0
    busy: bool = False
    saved: tuple[str, ...] = ()
    title: str = ""
    note: str = ""
    mistakes: tuple[tuple[str, str], ...] = ()
    failure: str = ""
    findings: tuple[FindingLine, ...] = ()
    found_by: int = 0
    pictures: Mapping[View, Shown] = field(default_factory=dict)
    drawn: int = 0


def carried_on(state: WatchState, message: Message) -> WatchState:
    """The state after a message."""
    match message:
        case Began(saved):
            names = tuple(escape_directions(Path(path).name) for path in saved)
            return replace(state, run=state.run + 1, busy=True, saved=names)
        case Named(title, note):
            return replace(state, title=escape_directions(title), note=escape_directions(note))
        case Mistaken(complaints):
            said = tuple(
                (escape_directions(str(one.place or "")), _sentence(one.found, one.remedy))
                for one in complaints
            )
            return replace(state, mistakes=said, failure="")
        case Found(lines, stopped):
            return _found(state, lines, stopped=stopped)
        case Drawn(view, _, says, coarse):
            shown = Shown(state.drawn + 1, state.run, says, coarse)
            return replace(state, drawn=shown.number, pictures={**state.pictures, view: shown})
        case Finished():
            return replace(state, busy=False)
        case Failed(why):
            return replace(state, busy=False, mistakes=(), failure=why)
        case _:
            return state


def _found(state: WatchState, lines: Sequence[FindingLine], *, stopped: bool) -> WatchState:
    """The state after findings; those that stop stand where mistakes do, above what is older."""
    told = tuple(FindingLine(label, escape_directions(text)) for label, text in lines)
    if stopped:
        stops = tuple(("", one.text) for one in told if one.label == "stop")
        return replace(state, mistakes=stops, failure="")
    return replace(state, mistakes=(), failure="", findings=told, found_by=state.run)


def _sentence(found: str, remedy: str) -> str:
    return escape_directions(f"{found}; {remedy}" if remedy else found)


def state_data(state: WatchState) -> dict[str, Any]:
    """The state as plain data, for the page: numbers are tied to their units."""
    return {
        "run": state.run,
        "busy": state.busy,
        "saved": list(state.saved),
        "title": state.title,
        "note": state.note,
        "mistakes": [{"place": place, "text": text} for place, text in state.mistakes],
        "failure": state.failure,
        "findings": [{"label": label, "text": tied(text)} for label, text in state.findings],
        "found_by": state.found_by,
        "pictures": {
            view: {
                "address": address_of(view, shown.number),
                "run": shown.run,
                "says": tied(shown.says),
                "coarse": shown.coarse,
            }
            for view, shown in sorted(state.pictures.items())
        },
    }


def address_of(view: View, number: int) -> str:
    """Where a picture is found, as seen from the page."""
    return f"{view}/{number}"
