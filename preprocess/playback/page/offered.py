"""Places that the page offers to look at: the worst of each side, and those of the findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Severity, on_page
from preprocess.marking.evenness.cells import marked_cells, only_cells
from preprocess.marking.evenness.connected import extreme_place
from preprocess.marking.evenness.shared_area import in_both
from preprocess.marking.heat.index_images import weighted_quantile

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preprocess.findings import Finding
    from preprocess.marking.evenness.cells import MarkedCells
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Page
    from preprocess.pipeline import Conversion

    Spot = tuple[float, float]

NAMES = ("As drawn", "As rewritten")
MOST = 8
"""Findings of each side on the page; the report holds all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedFinding:
    """A finding in words; `spot` is "x,y" in mm of the drawing, or empty."""

    severity: str
    words: str
    spot: str


def offered_places(before: Prediction, after: Prediction) -> list[tuple[str, str]]:
    """Words and spot of the hottest and the coldest place of both sides, as the figures mean them.

    A place of one side that is one of the other side too is offered once.
    """
    was, now = marked_cells(before.heat.images), marked_cells(after.heat.images)
    if was is not None and now is not None:
        was, now = only_cells(was, in_both(was, now)), only_cells(now, in_both(now, was))
    found: dict[str, str] = {}
    for name, cells in zip(NAMES, (was, now), strict=True):
        for hot in (True, False) if cells is not None and len(cells) else ():
            words = f"{'hottest' if hot else 'coldest'}, {name[0].lower()}{name[1:]}"
            found.setdefault(spot_text(_extreme(cells, hot=hot)), words)
    return [(words, spot) for spot, words in found.items()]


def _extreme(cells: MarkedCells, *, hot: bool) -> Spot:
    """The most extreme cell of the most extreme place."""
    index = cells.index[0]
    ratio = index / weighted_quantile(index, cells.weight, 0.5)
    place = extreme_place(cells, ratio, hot=hot)
    sign = 1.0 if hot else -1.0
    some = place.cells if len(place.cells) else np.arange(len(cells))
    cell = int(some[np.argmax(np.round(sign * ratio[some], 9))])
    return float(cells.x[cell]), float(cells.y[cell])


def offered_findings(
    result: Conversion, before: Prediction, after: Prediction
) -> list[tuple[str, list[OfferedFinding]]]:
    """Findings of both sides under their names; as rewritten first, for it is what gets marked."""
    page = result.after.page
    own = [*_off_page(result.findings, page), *after.findings]
    sides = ((NAMES[1], own), (NAMES[0], list(before.findings)))
    return [(name, list(_offered(some))) for name, some in sides if some]


def _off_page(findings: Iterable[Finding], page: Page) -> Iterator[Finding]:
    """Findings with their spots in the drawing's own coordinates again, as all others here."""
    yield from on_page(findings, -page.left, -page.top)


def _offered(findings: Iterable[Finding]) -> Iterator[OfferedFinding]:
    """The weightiest, those with a place before those without."""
    rank = list(Severity)
    ordered = sorted(findings, key=lambda one: (rank.index(one.severity), one.spot is None))
    for one in ordered[:MOST]:
        words = f"{one.message}; {one.remedy}" if one.remedy else one.message
        spot = "" if one.spot is None else spot_text(one.spot)
        yield OfferedFinding(severity=str(one.severity), words=f"{words}.", spot=spot)
    if len(ordered) > MOST:
        more = f"And {len(ordered) - MOST} more, in the report."
        yield OfferedFinding(severity="", words=more, spot="")


def spot_text(spot: Spot) -> str:
    """A place as the page's buttons carry it: x,y in mm."""
    return f"{spot[0]:.2f},{spot[1]:.2f}"
