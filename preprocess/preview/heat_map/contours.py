"""The heat index of one patch as lines of equal heat, on the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import shapely
from shapely import LinearRing, MultiLineString, MultiPolygon, Polygon

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import intersection, union
from preprocess.marking.heat.index_regions import cells_away_from_ends

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.model.artwork.artwork import Artwork


_EYE = 0.25
"""mm on the sheet: cells smaller than this are shown together, by the hottest of them."""

_RIM = 2
_GRAIN = 1e-6
_RING = 3

_STRIP = 0.1
"""mm; width of the only column of an image."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexGrid:
    """Contours of the index in the row frame, also beside what is lit: as at the nearest lit.

    The outermost points have index 0, so that every line of equal heat closes.
    """

    angle: float
    contours: contourpy.ContourGenerator

    def lines(self, index: float, least: float) -> MultiLineString:
        """The lines on the page that enclose what is hotter than the index, `least` mm² or more."""
        found = self.contours.lines(index)
        rings = [LinearRing(line) for line in found if len(line) > _RING]
        large = [ring for ring in rings if Polygon(ring).area >= least]
        return RowFrame(self.angle).to_page(MultiLineString(large))


def index_grid(
    patch: IndexImage, scale: float, detail: float, field: Floats | None = None
) -> IndexGrid:
    """The grid of a patch, no finer than the eye needs.

    Args:
        patch: the index.
        scale: sheet mm per mm.
        detail: how much coarser than what the eye can tell.
        field: what to show in place of the index, rows × columns.
    """
    index = np.where(patch.lit, patch.index if field is None else field, -np.inf)
    least = _EYE * detail / scale
    v, index = _coarser(patch.v, index, least)
    u, turned = _coarser(patch.u, index.T, least)
    filled = _spread(np.pad(turned.T, _RIM, constant_values=-np.inf))
    filled[[0, -1], :] = filled[:, [0, -1]] = 0.0
    contours = contourpy.contour_generator(_longer(u), _longer(v), filled)
    return IndexGrid(angle=patch.angle, contours=contours)


def excess_field(patch: IndexImage, limit: float, least: float, *, high: bool) -> Floats:
    """A field that exceeds the limit just where the index is beyond it, `least` mm² or more.

    Rims of rows, where every mark fades, are never too weak. Below a low limit the field is the
    index mirrored at the limit.
    """
    from scipy import ndimage

    index = np.where(patch.lit, patch.index, limit)
    where = patch.lit & (index > limit) if high else cells_away_from_ends(patch) & (index < limit)
    number, count = ndimage.label(where)
    areas = np.bincount(number.ravel(), patch.areas.ravel(), minlength=count + 1)
    areas[0] = 0.0
    field = np.where(areas[number] >= least, np.abs(index - limit), -_GRAIN)
    return limit + field


def lit_area(
    group: RasterGroup, patch: IndexImage, artwork: Artwork, tolerance: float
) -> MultiPolygon:
    """Artwork within the patch, without bars, simplified to a tolerance in mm."""
    areas = [shape.geometry for shape in group.shapes]
    area = areas[0] if len(areas) == 1 else union(areas)
    coarse = shapely.simplify(area, tolerance)
    if patch.part is None:
        return coarse
    return intersection(coarse, shapely.simplify(artwork.parts[patch.part], tolerance))


def lit_rows(patch: IndexImage) -> MultiPolygon:
    """Areas lit by own rows, on the page: a strip of one pitch for each run of lit cells."""
    width = float(patch.u[1] - patch.u[0]) if len(patch.u) > 1 else _STRIP
    high = patch.cell / width / 2
    change = np.diff(np.pad(patch.lit, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    row, first = np.nonzero(change == 1)
    last = np.nonzero(change == -1)[1] - 1
    left, right = patch.u[first] - width / 2, patch.u[last] + width / 2
    strips = shapely.box(left, patch.v[row] - high, right, patch.v[row] + high)
    return RowFrame(patch.angle).to_page(MultiPolygon(list(strips)))


def _coarser(at: Floats, index: Floats, least: float) -> tuple[Floats, Floats]:
    """Rows put together until they are at least so far apart: the hottest of each few."""
    apart = float(np.median(np.diff(at))) if len(at) > 1 else least
    few = max(1, round(least / apart))
    first = np.arange(0, len(at), few)
    count = np.diff(np.append(first, len(at)))
    return np.add.reduceat(at, first) / count, np.maximum.reduceat(index, first, axis=0)


def _spread(index: Floats) -> Floats:
    """Every point that is not lit gets the index of the nearest that is."""
    from scipy import ndimage

    nearest = ndimage.distance_transform_edt(
        np.isneginf(index), return_distances=False, return_indices=True
    )
    return index[tuple(nearest)]


def _longer(at: Floats) -> Floats:
    """Coordinates with two more at each end."""
    step = float(at[1] - at[0]) if len(at) > 1 else 0.1
    more = step * np.arange(1, _RIM + 1)
    return np.concatenate((at[0] - more[::-1], at, at[-1] + more))
