"""Findings in few lines: worst first, each fact once over all layers, notes folded."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preprocess.explained.folded_findings import (
    BACKING,
    folded,
    full_sentence,
    grouped,
    is_never_folded,
)
from preprocess.findings import Finding, Severity, counted, listed
from preprocess.units import place_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.errors import Complaint
    from preprocess.explained.folded_findings import FoldedFindings

WIDTH = 100
"""Characters in a line of a summary."""

_MOST_NAMES = 4


@dataclass(frozen=True, slots=True)
class Line:
    """One line to print: its label, such as "warn", and its text."""

    label: str
    text: str


def is_always_told(finding: Finding, codes: Sequence[str]) -> bool:
    """Test whether a note is a caution, asks for a card, or has one of these codes."""
    return finding.code in codes or is_never_folded(finding)


def full_lines(found: Iterable[Finding]) -> list[Line]:
    """All findings in full, a line to each kind; stops and cautions have lines of their own."""
    return [Line(one.severity, f"{one.text} [{', '.join(one.codes)}]") for one in folded(found)]


def readable_lines(found: Iterable[Finding]) -> list[Line]:
    """All findings in full; what is longer than a line gets a line to each place, and is wrapped.

    Stops stay on one line each, so that scripts find them whole.
    """
    lines = []
    for one in folded(found):
        label, codes = one.severity, f"[{', '.join(one.codes)}]"
        whole = f"{one.text} {codes}"
        if one.severity is Severity.STOP or len(f"{label}: {whole}") <= WIDTH:
            lines.append(Line(label, whole))
            continue
        indent = " " * len(f"{label}: ")
        *pieces, last = _pieces(one)
        wrapped = [
            line
            for piece in [*pieces, f"{last} {codes}"]
            for line in _wrapped(piece, WIDTH - len(indent))
        ]
        lines += [Line(label, wrapped[0]), *(Line("", indent + line) for line in wrapped[1:])]
    return lines


def _pieces(kind: FoldedFindings) -> list[str]:
    """The sentence of a kind, cut behind each place and before each remedy."""
    found: list[str] = []
    for group in kind.groups:
        *heads, last = (head.text for head in group.heads)
        told = "; ".join([f"{last}{group.ending}", *group.remedies])
        found += [*heads, told if heads else group.text]
    return [*(f"{piece};" for piece in found[:-1]), found[-1]]


def stop_lines(found: Iterable[Finding]) -> list[Line]:
    """Lines on all that stops the work, in full, however long."""
    return [
        Line("stop", f"{full_sentence(one)} [{one.code}]")
        for one in found
        if one.severity is Severity.STOP
    ]


def warning_lines(found: Iterable[Finding], most: int) -> list[Line]:
    """A line to each kind of warning; what is beyond the most is counted in the last."""
    groups = grouped(one for one in found if one.severity is Severity.WARN)
    if len(groups) <= most:
        return [Line("warn", brief(group)) for group in groups]
    shown, left = groups[: most - 1], groups[most - 1 :]
    kinds = _within(", ".join(group[0].code for group in left), WIDTH - len("warn: ") - 40)
    count = counted(sum(map(len, left)), "more warning")
    more = Line("warn", f"{count}: {kinds}; --verbose tells them")
    return [*(Line("warn", brief(group)) for group in shown), more]


def note_count(found: Iterable[Finding]) -> str:
    """Number of folded notes, and the option to read them; empty without any."""
    count = sum(one.severity is Severity.NOTE and not is_never_folded(one) for one in found)
    return f"{counted(count, 'note')}: --verbose" if count else ""


def always_lines(found: Iterable[Finding], codes: Sequence[str] = ()) -> list[Line]:
    """Notes that show whatever is folded, those with these codes too, on lines of their own."""
    lines = []
    for one in found:
        if is_always_told(one, codes):
            label = "card" if one.code == BACKING else "note"
            texts = _wrapped(f"{one.message}; {one.remedy}", WIDTH - len(f"{label}: "))
            lines += [Line("" if number else label, text) for number, text in enumerate(texts)]
    return lines


def brief(group: Sequence[Finding]) -> str:
    """One line for findings of one code: the message of the first, and where the others are."""
    first = group[0]
    ending = f" [{first.code}]"
    room = WIDTH - len(f"{first.severity}: ") - len(ending)
    if len(group) == 1:
        spot = f" (at {place_text(first.spot)})" if first.spot else ""
        return _within(first.message, room - len(spot)) + spot + ending
    from preprocess.explained.titles import title_of

    layers = tuple(dict.fromkeys(one.layer for one in group if one.layer))
    where = f" on {listed(layers, _MOST_NAMES)}" if layers else ""
    text = title_of(first.code) or _first_clause(first.message)
    return _within(f"{text}: {counted(len(group), 'place')}{where}", room) + ending


def _first_clause(message: str) -> str:
    return message.partition(":")[0].partition(";")[0]


def _within(text: str, room: int) -> str:
    """The text, cut between words where it is too long."""
    if len(text) <= room:
        return text
    cut = text[: room - 1]
    head, space, _ = cut.rpartition(" ")
    return (head if space else cut).rstrip(",;:") + "…"


def within_line(text: str, less: int = 0) -> str:
    """The text as one line of a summary, with some characters kept free for more."""
    return _within(text, WIDTH - less)


def _wrapped(text: str, width: int) -> list[str]:
    """Lines of at most a width; a number and its unit stay together."""
    from preprocess.preview.drawing.tied_units import HELD, tied

    lines = textwrap.wrap(tied(text), width, break_long_words=False, break_on_hyphens=False)
    return [line.replace(HELD, " ") for line in lines]


def complaint_data(complaint: Complaint) -> dict[str, Any]:
    """A mistake of the user as data, for JSON."""
    place = complaint.place
    return {
        "message": complaint.found,
        "remedy": complaint.remedy,
        "file": place.file if place else None,
        "line": place.line if place else None,
        "column": place.column if place else None,
    }
