"""Findings as the sheet lists them: folded, the worst first, with their numbers on the map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.explained.folded_findings import folded
from preprocess.findings import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.explained.folded_findings import FoldedFindings, FoldedGroup
    from preprocess.findings import Finding

ON_PAPER = 12
"""Kinds of findings that are printed; the page shows all, paper says how many it leaves out."""


@dataclass(frozen=True, slots=True)
class ToldGroup:
    """Findings of one code: messages with the numbers of their places on the map, and the rest."""

    heads: tuple[tuple[tuple[int, ...], str], ...]
    ending: str
    remedies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToldKind:
    """One entry of the list."""

    severity: Severity
    groups: tuple[ToldGroup, ...]


def findings_view(found: Iterable[Finding], numbers: Mapping[Finding, int]) -> list[ToldKind]:
    """Entries of the list; `numbers` are those of places on the heat map."""
    last = len(numbers) + 1

    def rank(kind: FoldedFindings) -> tuple[int, int]:
        return (
            list(Severity).index(kind.severity),
            min(numbers.get(finding, last) for finding in kind.findings),
        )

    return [
        ToldKind(kind.severity, tuple(_group(group, numbers) for group in kind.groups))
        for kind in sorted(folded(found), key=rank)
    ]


def _group(group: FoldedGroup, numbers: Mapping[Finding, int]) -> ToldGroup:
    heads = [
        (tuple(sorted(numbers[one] for one in head.findings if one in numbers)), head.text)
        for head in group.heads
    ]
    return ToldGroup(tuple(sorted(heads, key=_by_number)), group.ending, group.remedies)


def _by_number(head: tuple[tuple[int, ...], str]) -> tuple[bool, tuple[int, ...]]:
    numbers, _ = head
    return (not numbers, numbers)
