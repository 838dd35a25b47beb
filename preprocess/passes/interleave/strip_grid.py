"""The grid of the rows of a layer, and the strips that hold one row each.

Software begins the rows of a set of strips where the set begins, or counts them from the page.
Borders are laid so that the rows of all sets fall on one grid, by whichever rule, and so that
rounding to the written decimals takes no row across a border.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.row_frame import RowFrame, snap_to_rows
from preprocess.geometry.base.sweep import sweep_areas
from preprocess.marking.job.plan import row_grid
from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Geometries
    from preprocess.geometry.base.sweep import Runs
    from preprocess.model.artwork.artwork import Page

_ABOVE = 5
"""Steps of the written grid from a border to the row below it: 0.5 µm at four decimals."""


WIDE = 0.25
"""Half the foot of the point that a set begins with, as a share of the pitch, or less."""

NARROWEST = 4
"""Least half of a foot in steps of the written grid: a narrower point would be rounded away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StripGrid:
    """Rows at v = first + i · pitch, i < count, in the row frame of `angle` (mm, degrees).

    Strip i reaches from `above` mm over its row to the next strip. `on_edge` says whether these are
    the rows of software that begins on the uppermost edge of a set; all other software then has
    one row in each strip as well. Else they are counted from the page. `step` is that of the
    written grid, mm.
    """

    angle: float
    pitch: float
    first: float
    count: int
    above: float
    on_edge: bool
    step: float

    @property
    def rows(self) -> Floats:
        """The v of every row, mm."""
        return np.asarray(self.first + self.pitch * np.arange(self.count), dtype=np.float64)

    def v_of(self, points: Floats) -> Floats:
        """The v (mm) of points of the page (n × 2)."""
        return RowFrame(self.angle).to_uv(*points.T)[1]

    def runs(self, areas: Geometries | Sequence[MultiPolygon]) -> Runs:
        """Runs of the rows over areas of the page, numbered by area."""
        frame = RowFrame(self.angle)

        def on_rows(points: Floats) -> Floats:
            uv = np.stack(frame.to_uv(*points.T), axis=1)
            return snap_to_rows(uv, self.first, self.pitch, self.count)

        return sweep_areas(shapely.transform(np.array(areas, dtype=object), on_rows), self.rows)

    def runs_at(self, area: MultiPolygon, v: float) -> list[tuple[float, float]]:
        """Stretches (u, mm) of an area of the page at one v."""
        runs = sweep_areas([RowFrame(self.angle).to_rows(area)], np.array([v]))
        return list(zip(runs.start.tolist(), runs.end.tolist(), strict=True))

    def to_page(self, points: list[tuple[float, float]]) -> Floats:
        """Places u, v on the page, n × 2."""
        return np.stack(RowFrame(self.angle).to_xy(*np.array(points).T), axis=1)

    @property
    def borders(self) -> Floats:
        """The v at which strips 1, 2, 3 and so on begin, mm."""
        return self.rows[1:] - self.above


def room_for_points(pitch: float, decimals: int) -> bool:
    """Test whether points as wide as they may be survive rounding to the written decimals."""
    return WIDE * pitch >= NARROWEST * 10.0**-decimals


def strip_grid(
    area: MultiPolygon, rows: tuple[float, float], rule: FirstRow, page: Page, decimals: int
) -> StripGrid:
    """The grid of all rows of an area of the page, by the machine's rule for the first row.

    `rows` are their angle (degrees) and pitch (mm), `decimals` those of the written file.
    """
    angle, pitch = rows
    first, count = row_grid(area, angle, pitch, first_row=FirstRow.EDGE, page=page)
    step = 10.0**-decimals
    above = min(_ABOVE * step, pitch / 4)
    counted, lines = row_grid(area, angle, pitch, first_row=FirstRow.PAGE, page=page)
    fits = room_for_points(pitch, decimals) and first + pitch - counted >= 2 * above
    on_edge = fits or rule is not FirstRow.PAGE
    if not on_edge:
        first, count, above = counted, lines, pitch / 2
    return StripGrid(
        angle=angle,
        pitch=pitch,
        first=first,
        count=count,
        above=above,
        on_edge=on_edge,
        step=step,
    )
