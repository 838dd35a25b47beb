"""Places that the page offers to look at: the worst of each side, and those of the findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.findings import Severity
from preprocess.marking.evenness.cells import marked_cells, only_cells
from preprocess.marking.evenness.connected import extreme_place
from preprocess.marking.evenness.shared_area import in_both
from preprocess.marking.heat.index_images import weighted_quantile
from preprocess.playback.block.playback import SIDES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.marking.evenness.cells import MarkedCells
    from preprocess.marking.prediction import Prediction

    Spot = tuple[float, float]

_MOST = 8
"""Findings of each side on the page; the report holds all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedFinding:
    """A finding in words; `spot` is "x,y" in mm of the drawing, or empty."""

    severity: str
    words: str
    spot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedPlace:
    """A place of one side, 0 as drawn, 1 as rewritten; `spot` is "x,y" in mm on that side."""

    words: str
    spot: str
    side: int


def offered_places(before: Prediction, after: Prediction) -> list[OfferedPlace]:
    """The hottest and the coldest place of both sides, as the figures of evenness mean them."""
    was, now = marked_cells(before.heat.images), marked_cells(after.heat.images)
    if was is not None and now is not None:
        was, now = only_cells(was, in_both(was, now)), only_cells(now, in_both(now, was))
    return [
        OfferedPlace(
            words=f"{'hottest' if hot else 'coldest'}, {name[0].lower()}{name[1:]}",
            spot=_spot_text(_extreme(cells, hot=hot)),
            side=side,
        )
        for side, (name, cells) in enumerate(zip(SIDES, (was, now), strict=True))
        if cells is not None and len(cells)
        for hot in (True, False)
    ]


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
    sides: Sequence[Mapping[str, Any]],
) -> list[tuple[str, int, list[OfferedFinding]]]:
    """Name, number and findings of each side; the output's come first, for it is what gets marked.

    `sides` are those of the block's head.
    """
    return [
        (sides[number]["name"], number, list(_offered(sides[number]["findings"])))
        for number in (1, 0)
        if sides[number]["findings"]
    ]


def _offered(findings: Sequence[Mapping[str, Any]]) -> Iterator[OfferedFinding]:
    """The weightiest, those with a place before those without."""
    rank = [str(severity) for severity in Severity]
    ordered = sorted(findings, key=lambda one: (rank.index(one["severity"]), one["spot"] is None))
    for one in ordered[:_MOST]:
        words = f"{one['what']}; {one['remedy']}" if one["remedy"] else one["what"]
        spot = "" if one["spot"] is None else _spot_text(one["spot"])
        yield OfferedFinding(severity=one["severity"], words=f"{words}.", spot=spot)
    if len(ordered) > _MOST:
        more = f"And {len(ordered) - _MOST} more, in the report."
        yield OfferedFinding(severity="", words=more, spot="")


def _spot_text(spot: Sequence[float]) -> str:
    """A place as the page's buttons carry it: x,y in mm."""
    return f"{spot[0]:.2f},{spot[1]:.2f}"
