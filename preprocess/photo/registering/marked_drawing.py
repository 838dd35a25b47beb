"""The drawing as it was marked: areas and lines, as an image and as points on its outlines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.coupon.artwork.build import CROSS_PREFIX
from preprocess.geometry.base.normalise import NO_LINES, NOTHING, as_area
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.model.artwork.settings import Operation
from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats32, Points
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

LINE = 0.12
"""Width of a scored line in images, mm."""

_LINE_TONE = 0.6
"""Tone of a line in images, of that of an area."""

_SUB = 4
"""Bits of a pixel to which outlines are drawn."""

_MOST_PIXELS = 40_000_000
"""Largest image that is drawn finer and then made smaller: OpenCV's soft edges lie half a pixel
off, and its hard ones grow by half a pixel."""

_APART, _MOST = 0.3, 2500
"""mm between points of an outline, and how many there may be."""

_UPRIGHT, _NEAR, _PROBE = 0.9, 0.01, 0.05
"""Part of a normal across the rows from which an edge is an end; mm from an area's outline, and
below it to look for the area."""

_FEWEST = 80
"""Points of outlines that must be left."""

_MARKS = frozenset({Operation.ENGRAVE, Operation.SCORE})

_RIM = 1.5
"""mm of bare plastic in an image around all marks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedDrawing:
    """Areas and lines that were marked, and the outline of the part (empty if not known); mm.

    `crossed` says that there are crosses among the lines, for a photo to find its place by; `fades`
    that areas may begin faintly, since their first rows find the plastic cold. `onward` points from
    each row to the next.
    """

    areas: MultiPolygon
    lines: MultiLineString
    part: MultiPolygon
    crossed: bool = False
    fades: bool = False
    onward: tuple[float, float] = (0.0, 1.0)

    @classmethod
    def of_area(cls, area: MultiPolygon) -> MarkedDrawing:
        """A drawing of one area, without an outline of a part."""
        return cls(areas=area, lines=NO_LINES, part=NOTHING)

    @property
    def box(self) -> Bounds:
        """Left, top, right and bottom of the marks with a rim, mm."""
        left, top, right, bottom = shapely.total_bounds([self.areas, self.lines])
        return left - _RIM, top - _RIM, right + _RIM, bottom + _RIM


def marked_drawing(artwork: Artwork) -> MarkedDrawing:
    """What an artwork marks on its parts, by engraving and scoring."""
    part = as_area(artwork.parts)
    marks = [s for s in artwork.shapes if s.operation in _MARKS and _lies_on(s, part)]
    swept = [s for s in marks if s.is_area or s.round is not None]
    traced = [s for s in marks if not s.is_area and s.round is None]
    return MarkedDrawing(
        areas=as_area(shapely.unary_union([swept_area(s, artwork) for s in swept])),
        lines=MultiLineString([line for s in traced for line in s.geometry.geoms]),
        part=part,
        crossed=any(shape.id.startswith(CROSS_PREFIX) for shape in artwork.shapes),
        onward=_onward(swept, artwork),
    )


def _onward(swept: Sequence[Shape], artwork: Artwork) -> tuple[float, float]:
    """From row to row of most of the swept area."""
    areas: dict[float, float] = {}
    for shape in swept:
        angle = artwork.layer(shape.layer).of(Operation.ENGRAVE).angle or 0.0
        areas[angle] = areas.get(angle, 0.0) + swept_area(shape, artwork).area
    return RowFrame(max(areas, key=lambda angle: areas[angle], default=0.0)).to_xy(0.0, 1.0)


def _lies_on(shape: Shape, part: MultiPolygon) -> bool:
    return part.is_empty or bool(part.intersects(shape.geometry))


def swept_area(shape: Shape, artwork: Artwork) -> MultiPolygon:
    """The area that a shape's rows mark: its own, or that of rows drawn as lines."""
    if shape.is_area:
        return as_area(shape.geometry)
    pitch = artwork.layer(shape.layer).of(Operation.ENGRAVE).pitch or LINE
    return as_area(shapely.buffer(shape.geometry, 0.51 * pitch, quad_segs=1, cap_style="flat"))


def drawing_image(drawing: MarkedDrawing, px: float, box: Bounds) -> Floats32:
    """The marks, 0 to 1, at `px` pixels per mm within a box (left, top, right, bottom, mm)."""
    left, top, right, bottom = box
    high, wide = max(1, round((bottom - top) * px)), max(1, round((right - left) * px))
    finer = next((n for n in (4, 2) if n * n * high * wide <= _MOST_PIXELS), 1)
    image = np.zeros((finer * high, finer * wide), np.uint8)
    frame = np.array([left, top]), finer * px
    cv2 = opencv()
    lines = [_fixed(shapely.get_coordinates(line), *frame) for line in drawing.lines.geoms]
    if lines:
        thick, tone = max(1, round(LINE * finer * px)), round(255 * _LINE_TONE)
        cv2.polylines(image, lines, False, tone, thick, cv2.LINE_8, _SUB)  # noqa: FBT003
    areas = [_fixed(ring, *frame) for ring in _rings(drawing.areas)]
    if areas:
        filled = np.zeros_like(image)
        cv2.fillPoly(filled, areas, 255, cv2.LINE_8, _SUB)
        image = np.maximum(image, filled)
    small = cv2.resize(image, (wide, high), interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.float32) / np.float32(255)


def outline_points(drawing: MarkedDrawing) -> tuple[Points, Points]:
    """Points on the outlines of all that is marked, with normals away from it; each n × 2, mm.

    Where there are crosses, the first and last rows of areas are left out, and where areas may
    fade, the first: they are cool, so that an area seems to begin later.
    """
    paths = _rings(_filled(drawing))
    length = sum(float(np.hypot(*np.diff(path, axis=0).T).sum()) for path in paths)
    apart = max(_APART, length / _MOST)
    found = [_along(path, apart) for path in paths]
    places, normals = (np.concatenate(both) for both in zip(*found, strict=True))
    onward = np.array(drawing.onward)
    ends = np.abs(normals @ onward) > _UPRIGHT
    if drawing.crossed:
        kept = ~(ends & shapely.dwithin(drawing.areas.boundary, shapely.points(places), _NEAR))
    elif drawing.fades:
        below = shapely.points(places + _PROBE * onward)
        kept = ~(ends & shapely.contains(drawing.areas, below))
    else:
        return places, normals
    return (places[kept], normals[kept]) if kept.sum() > _FEWEST else (places, normals)


def _filled(drawing: MarkedDrawing) -> MultiPolygon:
    """All that is marked, lines with their width, as areas whose rings turn one way."""
    lines = shapely.buffer(drawing.lines, LINE / 2, quad_segs=1, cap_style="flat")
    return as_area(shapely.normalize(shapely.unary_union([drawing.areas, lines])))


def _along(path: Points, apart: float) -> tuple[Points, Points]:
    steps = np.diff(path, axis=0)
    lengths = np.hypot(*steps.T)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    count = max(1, int(ends[-1] / apart))
    at = (np.arange(count) + 0.5) * ends[-1] / count
    number = np.clip(np.searchsorted(ends, at, side="right") - 1, 0, len(steps) - 1)
    unit = steps[number] / np.maximum(lengths[number], 1e-12)[:, None]
    places = path[number] + unit * (at - ends[number])[:, None]
    return places, np.column_stack([-unit[:, 1], unit[:, 0]])


def _rings(area: MultiPolygon) -> list[Points]:
    return [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(area))]


def _fixed(path: Points, corner: Points, px: float) -> Points:
    """Points in parts of a pixel, whose middle is a whole number."""
    return np.floor(((path - corner) * px - 0.5) * 2**_SUB + 0.4).astype(np.int32)
