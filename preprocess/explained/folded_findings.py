"""Findings folded by kind: each fact once over all layers, and none is lost."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.findings import Severity
from preprocess.units import place_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.findings import Finding

_MOST_ELEMENTS = 5
BACKING = "backing-needed"
"""Code of the note that asks for a card under bars."""

_ALWAYS = (BACKING, "card-cautions", "coupon-cautions")
"""Codes of notes that are never folded: cautions, and the card under bars."""

_CARD = "card must lie under"
"""What a remedy says that asks for a card; such notes are never folded either."""

UNSURE = ("uncalibrated",)
"""Codes of notes that say how far a prediction can be trusted."""

_KINDS = (
    ("beyond-graded", "finer-than-graded", "another-scale"),
    ("tip-inset", "tip-capped", "tip-held"),
    ("strokes-became-areas", "strokes-stay-lines"),
    ("too-heavy", "too-weak"),
)
"""Codes that tell of one thing; every other code is a kind of its own."""

_CLAUSE = re.compile(r"(?=, but |: )(?![^()]*\))")
"""Where a verdict begins, in no bracket; figures before it belong to one message alone."""


@dataclass(frozen=True, slots=True)
class FoldedHead:
    """A message up to the ending that its group shares, with its place; who says it."""

    text: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class FoldedGroup:
    """Findings of one code; the ending that their messages share, and remedies, stand once."""

    heads: tuple[FoldedHead, ...]
    ending: str
    remedies: tuple[str, ...]

    @property
    def text(self) -> str:
        """All of it as one sentence; a finding alone has its place behind the remedy."""
        (first, *others), remedies = self.heads, self.remedies
        if not others and len(first.findings) == 1:
            return full_sentence(first.findings[0])
        told = "; ".join(head.text for head in self.heads)
        return "; ".join([f"{told}{self.ending}", *remedies])


@dataclass(frozen=True, slots=True)
class FoldedFindings:
    """Findings of one kind and severity, by code."""

    severity: Severity
    codes: tuple[str, ...]
    groups: tuple[FoldedGroup, ...]

    @property
    def text(self) -> str:
        """All of them as one sentence."""
        return "; and ".join(group.text for group in self.groups)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings themselves."""
        heads = (head for group in self.groups for head in group.heads)
        return tuple(one for head in heads for one in head.findings)


def folded(found: Iterable[Finding]) -> list[FoldedFindings]:
    """One to each stop and caution, and one to each kind of warning and of note."""
    kinds: dict[object, list[Finding]] = {}
    for number, finding in enumerate(dict.fromkeys(found)):
        kinds.setdefault(_kind(finding) or number, []).append(finding)
    return [_together(kind) for kind in kinds.values()]


def grouped(found: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """Findings by code, in the order of the first of each."""
    groups: dict[str, list[Finding]] = {}
    for finding in found:
        groups.setdefault(finding.code, []).append(finding)
    return [tuple(group) for group in groups.values()]


def full_sentence(finding: Finding) -> str:
    """All that a finding tells: message, remedy, places."""
    sentence = f"{finding.message}; {finding.remedy}" if finding.remedy else finding.message
    return sentence + place_of(finding)


def place_of(finding: Finding) -> str:
    """Elements, line and spot in brackets behind a space, but for those that the message names."""
    line = f"line {finding.line}"
    told = f" ({line})" in finding.message
    others = [one for one in finding.elements if not told or f"{one} (" not in finding.message]
    names = others[:_MOST_ELEMENTS]
    more = len(others) - len(names)
    where = [", ".join(names) + (f" and {more} more" if more else "")] if names else []
    where += [line] if finding.line and not told else []
    where += [f"at {place_text(finding.spot)}"] if finding.spot else []
    return f" ({'; '.join(where)})" if where else ""


def is_never_folded(finding: Finding) -> bool:
    """Test whether a note is a caution, or asks for a card."""
    return finding.code in _ALWAYS or _CARD in finding.remedy


def _kind(finding: Finding) -> tuple[str, ...]:
    """Codes that are folded with a finding; none if it stands alone."""
    alone = is_never_folded(finding) or finding.code in UNSURE
    if finding.severity is Severity.STOP or alone:
        return ()
    own = (finding.code,)
    return (finding.severity, *next((kind for kind in _KINDS if finding.code in kind), own))


def _together(kind: Sequence[Finding]) -> FoldedFindings:
    groups = grouped(kind)
    codes = tuple(group[0].code for group in groups)
    return FoldedFindings(kind[0].severity, codes, tuple(map(_group, groups)))


def _group(group: Sequence[Finding]) -> FoldedGroup:
    clauses = [_CLAUSE.split(one.message) for one in group]
    shared = _shared_endings(clauses) if len(group) > 1 else 0
    heads: dict[str, list[Finding]] = {}
    for pieces, finding in zip(clauses, group, strict=True):
        text = "".join(pieces[: len(pieces) - shared]) + place_of(finding)
        heads.setdefault(text, []).append(finding)
    return FoldedGroup(
        tuple(FoldedHead(text, tuple(found)) for text, found in heads.items()),
        "".join(clauses[0][len(clauses[0]) - shared :]),
        tuple(dict.fromkeys(one.remedy for one in group if one.remedy)),
    )


def _shared_endings(clauses: Sequence[Sequence[str]]) -> int:
    """Number of last clauses that are the same everywhere; a first clause is never one of them."""
    most = min(map(len, clauses)) - 1
    for count in range(most):
        if len({one[-1 - count] for one in clauses}) > 1:
            return count
    return most
