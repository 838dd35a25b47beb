"""All findings in full, where those of one kind share a line: each fact once over all layers."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.cli.telling import (
    UNSURE,
    Line,
    full_sentence,
    grouped,
    is_always_told,
    place_of,
)
from preprocess.findings import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.findings import Finding

_KINDS = (
    ("beyond-graded", "finer-than-graded", "another-scale"),
    ("tip-inset", "tip-capped", "tip-held"),
    ("strokes-became-areas", "strokes-stay-lines"),
    ("too-heavy", "too-weak"),
)
"""Codes that tell of one thing; every other code is a kind of its own."""

_CLAUSE = re.compile(r"(?=, but |: )(?![^()]*\))")
"""Where a verdict begins, in no bracket; figures before it belong to one message alone."""


def full_lines(found: Iterable[Finding]) -> list[Line]:
    """A line to each stop and caution, and one to each kind of warning and of note.

    A shared line holds every message and place; endings that are alike, and remedies, stand once.
    """
    kinds: dict[object, list[Finding]] = {}
    for number, finding in enumerate(dict.fromkeys(found)):
        kinds.setdefault(_kind(finding) or number, []).append(finding)
    return [_line(kind) for kind in kinds.values()]


def _kind(finding: Finding) -> tuple[str, ...]:
    """Codes that share the line of a finding; none if it has a line of its own."""
    if finding.severity is Severity.STOP or is_always_told(finding, UNSURE):
        return ()
    own = (finding.code,)
    return (finding.severity, *next((kind for kind in _KINDS if finding.code in kind), own))


def _line(kind: Sequence[Finding]) -> Line:
    groups = grouped(kind)
    codes = ", ".join(group[0].code for group in groups)
    text = "; and ".join(_together(group) for group in groups)
    return Line(kind[0].severity, f"{text} [{codes}]")


def _together(group: Sequence[Finding]) -> str:
    if len(group) == 1:
        return full_sentence(group[0])
    clauses = [_CLAUSE.split(one.message) for one in group]
    shared = _shared_endings(clauses)
    heads = [
        "".join(c[: len(c) - shared]) + place_of(f) for c, f in zip(clauses, group, strict=True)
    ]
    ending = "".join(clauses[0][len(clauses[0]) - shared :])
    remedies = dict.fromkeys(one.remedy for one in group if one.remedy)
    return "; ".join([f"{'; '.join(dict.fromkeys(heads))}{ending}", *remedies])


def _shared_endings(clauses: Sequence[Sequence[str]]) -> int:
    """Number of last clauses that are the same everywhere; a first clause is never one of them."""
    most = min(map(len, clauses)) - 1
    for count in range(most):
        if len({one[-1 - count] for one in clauses}) > 1:
            return count
    return most
