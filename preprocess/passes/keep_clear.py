"""keep-clear: cuts away what falls on places of the part where nothing may be marked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Ge
from shapely import MultiLineString, MultiPolygon

from preprocess.errors import Refusal
from preprocess.geometry.booleans import difference, union
from preprocess.geometry.offset import grow
from preprocess.geometry.outlines import MISSED, enclosed, lines_outside
from preprocess.marking.clearing import clearing_notes
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, MERGED, ZONED
from preprocess.model.settings import Operation
from preprocess.model.source import Selection
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.entries import exchanged
from preprocess.passes.select import chosen, named
from preprocess.units import Length

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape, Stroke


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear(Params):
    """Cut away what would fall on places of the part where nothing may be marked.

    Such places are the elements that `areas` chooses (holes, screws, raised ribs, embossed
    letters; of lines, what the closed ones enclose), the recipe's keep_off areas, and holes in
    the part's outline. Lines are cut as well. The chosen elements become guides: they show where
    nothing goes and are not marked themselves.
    """

    name: ClassVar = "keep-clear"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, ZONED})
    )

    areas: Annotated[
        Selection | None, Doc("elements to keep clear of, besides keep_off and the part's holes")
    ] = None
    margin: Annotated[
        Length,
        Ge(0),
        Doc("how far outlines and lines keep away; the mark is half a spot wider"),
    ] = 0.0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Cut areas and lines.

        Raises:
            Refusal: there is nothing to keep clear of.
        """
        if not artwork.shapes:
            return Outcome(artwork=artwork)
        wanted = chosen(artwork, self)
        theirs = () if self.areas is None else named(artwork, self.areas, "areas")
        off = self._off(artwork, theirs)
        mine = {id(shape) for shape in theirs}
        pairs = [
            (shape, _guide(shape) if id(shape) in mine else _clear(shape, off))
            if id(shape) in mine or (wanted(shape) and shape.operation is not Operation.GUIDE)
            else (shape, shape)
            for shape in artwork.shapes
        ]
        changed = [(old, new) for old, new in pairs if new is not old]
        cut = [pair for pair in changed if id(pair[0]) not in mine]
        guides = [old for old, new in changed if id(old) in mine]
        return Outcome(
            artwork=replace(artwork, shapes=tuple(new for _, new in pairs if _is_left(new))),
            findings=tuple(clearing_notes(cut, guides, off)),
            changes=exchanged(
                [old for old, _ in cut], [new for _, new in cut], "cut away to keep areas clear"
            ),
        )

    def _off(self, artwork: Artwork, theirs: tuple[Shape, ...]) -> MultiPolygon:
        holes = [shapely.Polygon(ring) for part in artwork.parts for ring in _holes(part)]
        off = union([*(enclosed(s.geometry) for s in theirs), *artwork.keep_off, *holes])
        may_be_none = self.areas is not None and self.areas.optional and not theirs
        if off.is_empty and not may_be_none:
            raise Refusal(
                "the elements to keep clear of enclose nothing"
                if theirs
                else "nobody says what is to be kept clear",
                "choose closed outlines with areas: {select: '#screw'}, or give the recipe a "
                "keep_off list",
            )
        return grow(off, self.margin)


def _holes(part: MultiPolygon) -> list[shapely.LinearRing]:
    return [ring for polygon in part.geoms for ring in polygon.interiors]


def _guide(shape: Shape) -> Shape:
    if shape.operation is Operation.GUIDE:
        return shape
    return replace(shape, operation=Operation.GUIDE, level=None, bars=None)


def _clear(shape: Shape, off: MultiPolygon) -> Shape:
    """The shape outside an area; the very same where it does not reach into it."""
    if isinstance(shape.geometry, MultiLineString):
        return _lines(shape, off)
    if not shape.geometry.intersects(off):
        return shape
    rest = difference(shape.geometry, off)
    if shape.geometry.area - rest.area <= MISSED * shape.geometry.length:
        return shape
    return replace(shape, geometry=rest)


def _lines(shape: Shape, off: MultiPolygon) -> Shape:
    rest = lines_outside(shape.geometry, off)
    if shape.geometry.length - rest.length > MISSED:
        shape = replace(shape, geometry=rest)
    if shape.stroke is None or not _reaches(shape, shape.stroke, off):
        return shape
    without = [area for area in (shape.stroke.without, off) if area is not None]
    return replace(shape, stroke=replace(shape.stroke, without=union(without)))


def _reaches(shape: Shape, stroke: Stroke, off: MultiPolygon) -> bool:
    """Whether the paint of a stroke, should it become an area, could reach into an area."""
    if stroke.without is not None and shapely.covers(stroke.without, off):
        return False
    reach = stroke.width_mm / 2 * max(1.5, stroke.miter_limit)
    return bool(shapely.dwithin(shape.geometry, off, reach))


def _is_left(shape: Shape) -> bool:
    return not shape.geometry.is_empty
