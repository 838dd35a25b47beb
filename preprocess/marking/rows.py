"""The lit runs of every row of a raster group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.sweep import sweep_area
from preprocess.geometry.turn import to_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import MultiPolygon

    from preprocess.geometry.sweep import Runs
    from preprocess.marking.plan import RasterGroup

    Floats = NDArray[np.float64]

NEAR = 1.5e-4
"""mm by which a vertex may miss a row and still be taken to lie on it. On a grid of 1e-4 mm an
edge at any angle, and the edge that the rows begin on, move by 0.5e-4 × √2 each: together less,
and a row on an edge must not be lost or gained through that."""


@dataclass(frozen=True, slots=True)
class Spans:
    """One entry per lit row: its v, from the first to the last lit point, and its lit length (mm).

    `row` is the index of the row in its group.
    """

    v: Floats
    start: Floats
    end: Floats
    lit: Floats
    row: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.v)

    @property
    def span(self) -> Floats:
        """Swept width of every lit row, blank gaps included (mm)."""
        return self.end - self.start


def row_runs(group: RasterGroup) -> Runs:
    """Lit runs of every row in the row frame (u in mm); rows without light are absent."""
    return runs_on_rows(group.area, group)


def runs_on_rows(area: MultiPolygon, group: RasterGroup) -> Runs:
    """Runs of any other area of the page (a silhouette, say) on the rows of a group."""
    rows = group.rows
    turned = to_rows(area, group.angle)
    if group.count == 0 or turned.is_empty:
        return sweep_area(turned, rows)

    def settled(points: Floats) -> Floats:
        points = points.copy()
        index = np.clip(np.rint((points[:, 1] - group.first) / group.pitch), 0, group.count)
        on_row = group.first + group.pitch * index
        near = np.abs(points[:, 1] - on_row) <= min(NEAR, group.pitch / 100)
        points[near, 1] = on_row[near]
        return points

    return sweep_area(shapely.transform(turned, settled), rows)


def row_spans(group: RasterGroup) -> Spans:
    """The span and the lit length of every lit row."""
    return spans_of(row_runs(group), group.rows)


def spans_of(runs: Runs, rows: Floats) -> Spans:
    """Sum up the runs of each row."""
    row, first = np.unique(runs.row, return_index=True)
    if not len(row):
        return Spans(np.empty(0), np.empty(0), np.empty(0), np.empty(0), row)
    last = np.append(first[1:], len(runs.row)) - 1
    lit = np.add.reduceat(runs.end - runs.start, first)
    return Spans(rows[row], runs.start[first], runs.end[last], lit, row)
