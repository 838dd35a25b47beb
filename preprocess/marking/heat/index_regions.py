"""Connected regions of an index image that are too high or too low, and their rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.heat.index_images import first_least_cell

if TYPE_CHECKING:
    from preprocess.arrays import Booleans
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.timed_step import TimedStep


_RIM = 0.3
"""mm at each end of a run over which the index falls off for want of a neighbour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexRegion:
    """One place: where its extreme lies on the page, its index there, and its rows.

    `area` in mm²; `row_span` (mm) and `returns` (s, None without a neighbour) are those of the row
    of the extreme, `widest` (mm) that of the widest row of the group. `from_end` is the distance of
    the extreme from the nearer end of its row, `from_first` its distance from the first row (mm).
    """

    spot: tuple[float, float]
    index: float
    area: float
    row_span: float
    returns: float | None
    widest: float
    from_end: float
    from_first: float


def index_regions(
    image: IndexImage, timed: TimedStep, where: Booleans, least: float, *, high: bool
) -> list[IndexRegion]:
    """The connected places of a mask, largest first.

    Args:
        image: the index.
        timed: rows of the image's group, from the schedule.
        where: which lit cells are meant.
        least: places smaller than this are left out, mm².
        high: whether the extreme is the highest index, else the lowest.
    """
    from scipy import ndimage

    number, count = ndimage.label(where & (image.lit if high else cells_away_from_ends(image)))
    areas = np.bincount(number.ravel(), image.areas.ravel(), minlength=count + 1)[1:]
    big = [n + 1 for n in np.argsort(-areas, kind="stable").tolist() if areas[n] >= least]
    if not big:
        return []
    key = -image.ranked if high else image.ranked
    boxes = ndimage.find_objects(number)
    found = []
    for n in big:
        rows, columns = boxes[n - 1]
        row, column = first_least_cell(key[rows, columns], number[rows, columns] == n)
        place = (rows.start + row, columns.start + column)
        found.append(_region(image, timed, place, float(areas[n - 1])))
    return found


def cells_away_from_ends(image: IndexImage) -> Booleans:
    """Lit cells but for the rims of rows, where every mark fades; thin pieces count as a whole."""
    from scipy import ndimage

    step = float(image.u[1] - image.u[0]) if len(image.u) > 1 else _RIM
    rim = max(1, round(_RIM / step))
    line = np.ones((1, 2 * rim + 1), bool)
    inner = ndimage.binary_erosion(image.lit, line)
    thin = image.lit & ~ndimage.binary_dilation(inner, line)
    return inner | thin


def _region(
    image: IndexImage, timed: TimedStep, place: tuple[int, int], area: float
) -> IndexRegion:
    row, column = place
    spans = timed.spans
    lit = int(np.argmin(np.abs(spans.v - image.v[row])))
    returns = float(timed.returns[lit])
    u, v = image.place(row, column)
    return IndexRegion(
        spot=RowFrame(image.angle).to_xy(u, v),
        index=float(image.index[place]),
        area=area,
        row_span=float(spans.span[lit]),
        returns=returns if np.isfinite(returns) else None,
        widest=float(spans.span.max()),
        from_end=max(0.0, min(u - float(spans.start[lit]), float(spans.end[lit]) - u)),
        from_first=v - float(image.v[0]),
    )
