"""The datum: two points at the bench by which parts go back to the same place.

Card, overlay and job sheet all ask here, so that they show the same points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, box

from preprocess.geometry.overlay.booleans import union
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.own_marks import OwnMark, own_mark

if TYPE_CHECKING:
    from shapely import Geometry, Polygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine

    Point = tuple[float, float]

_INWARD = 4.0
"""mm from the edges of the frame to a datum point; less in a small frame."""

_ARM = 1.5
"""mm that a datum cross reaches to each side."""

_SHARE = 0.1
_PAIRS = (((0, 1), (1, 0)), ((0, 0), (1, 1)), ((0, 0.5), (1, 0.5)), ((0.5, 0), (0.5, 1)))
"""Places allowed for the two points in the frame, as shares from its upper left corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """Two points in artwork coordinates (mm), and the frame that they belong to.

    The frame is that of the anchors; without them the machine's field, or the page of the output
    where no field is known. `is_field` says that the frame is tied to the field or the parts.
    `clear` says whether parts, bars and marks leave room for both crosses.
    """

    points: tuple[Point, Point]
    frame: Polygon
    is_field: bool
    clear: bool

    @property
    def crosses(self) -> list[MultiLineString]:
        """The cross at each of the two points."""
        return [
            MultiLineString([((x - _ARM, y), (x + _ARM, y)), ((x, y - _ARM), (x, y + _ARM))])
            for x, y in self.points
        ]


def datum_of(artwork: Artwork, machine: Machine) -> Datum:
    """Choose the datum: opposite corners of the frame, others where something is in the way.

    Args:
        artwork: as it is written, with its bars.
        machine: for its field.
    """
    field = field_box(artwork, machine)
    anchors = own_mark(artwork, OwnMark.ANCHORS)
    if anchors is not None:
        field = box(*anchors.geometry.bounds)
    frame = _page(artwork) if field is None else field
    taken = _taken(artwork)
    choices = [_within(frame, pair) for pair in _PAIRS]
    free = [points for points in choices if not any(_cross(p).intersects(taken) for p in points)]
    return Datum(
        points=(free or choices)[0], frame=frame, is_field=field is not None, clear=bool(free)
    )


def _page(artwork: Artwork) -> Polygon:
    page = artwork.page
    return box(page.left, page.top, page.left + page.width, page.top + page.height)


def _within(frame: Polygon, pair: tuple[Point, Point]) -> tuple[Point, Point]:
    left, top, right, bottom = frame.bounds
    inward = min(_INWARD, _SHARE * (right - left), _SHARE * (bottom - top))
    width, height = right - left - 2 * inward, bottom - top - 2 * inward
    one, other = ((left + inward + u * width, top + inward + v * height) for u, v in pair)
    return one, other


def _cross(point: Point) -> Polygon:
    x, y = point
    return box(x - _ARM, y - _ARM, x + _ARM, y + _ARM)


def _taken(artwork: Artwork) -> Geometry:
    """Parts, keep-off areas, marks and bars."""
    anchors = own_mark(artwork, OwnMark.ANCHORS)
    marks = [shapely.envelope(s.geometry) for s in artwork.shapes if s is not anchors]
    bars = [shape.bars for shape in artwork.shapes if shape.bars is not None]
    areas = [*artwork.parts, *artwork.keep_off, *bars, *(m for m in marks if m.area > 0)]
    return union([shapely.multipolygons(shapely.get_parts(area)) for area in areas])
