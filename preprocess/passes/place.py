"""place: gives the drawing its size and its place on the part."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar, TypeVar

from annotated_types import Gt
from shapely import MultiLineString, MultiPolygon
from shapely.affinity import affine_transform

from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.turn import axes
from preprocess.marking.field import centre_of_parts, field_box
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, MERGED, SEPARATE
from preprocess.model.ledger import Change, totals
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.units import Angle, Length

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Matrix, Shape, Stroke

Geometry = TypeVar("Geometry", MultiPolygon, MultiLineString)

ENOUGH = 1e-9
"""A factor this close to 1 changes no size."""


class Middle(StrEnum):
    """What the drawing is centred on."""

    PART = "part"
    FIELD = "field"
    PAGE = "page"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceDrawing(Params):
    """Scale the drawing to a width or height, turn, mirror and centre it.

    Silhouettes and keep-off areas that are elements of the drawing move along with it, unless the
    drawing is centred on the part. Works on the whole drawing; the page stays as it is.
    """

    name: ClassVar = "place"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE}))

    width: Annotated[Length | None, Gt(0), Doc("width of the artwork, before it is turned")] = None
    height: Annotated[Length | None, Gt(0), Doc("height of the artwork, before it is turned")] = (
        None
    )
    mirror: Annotated[bool, Doc("mirror left and right, for the underside of a part")] = False
    rotate: Annotated[Angle, Doc("turn about its middle, counter-clockwise as seen")] = 0.0
    centre_on: Annotated[
        Middle | None, Doc("move the middle of the artwork to that of the part, field or page")
    ] = None
    shift: Annotated[tuple[Length, Length], Doc("then move to the right and down by this much")] = (
        0.0,
        0.0,
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Map every shape, its sources and strokes by one affine map."""
        if self.only or self.except_:
            raise Refusal("place works on the whole drawing", "leave out only and except")
        box = _box(artwork)
        factor = self._factor(box)
        matrix = self._matrix(artwork, bench, box, factor)
        shapes = tuple(_moved(shape, matrix) for shape in artwork.shapes)
        parts, keep_off = self._silhouettes(artwork, bench, matrix)
        after = replace(artwork, shapes=shapes, parts=parts, keep_off=keep_off)
        had, has = totals(artwork), totals(after)
        changes = tuple(
            Change(layer=layer, added=has[layer], removed=had[layer], why="placed") for layer in had
        )
        return Outcome(artwork=after, findings=tuple(self._findings(factor)), changes=changes)

    def _factor(self, box: tuple[float, float, float, float]) -> float:
        if self.width is not None and self.height is not None:
            raise Refusal(
                "place was given both a width and a height", "give one; the other follows"
            )
        across, down = box[2] - box[0], box[3] - box[1]
        wanted, has = (self.width, across) if self.width is not None else (self.height, down)
        if wanted is None:
            return 1.0
        if has <= 0:
            raise Refusal("the artwork has no extent that could be scaled", "give the other size")
        return wanted / has

    def _matrix(
        self,
        artwork: Artwork,
        bench: Bench,
        box: tuple[float, float, float, float],
        factor: float,
    ) -> Matrix:
        cos, sin = axes(self.rotate)
        flip = -factor if self.mirror else factor
        a, b, c, d = cos * flip, -sin * flip, sin * factor, cos * factor
        x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        to_x, to_y = self._target(artwork, bench) or (x, y)
        to_x, to_y = to_x + self.shift[0], to_y + self.shift[1]
        return a, b, c, d, to_x - a * x - c * y, to_y - b * x - d * y

    def _target(self, artwork: Artwork, bench: Bench) -> tuple[float, float] | None:
        if self.centre_on is Middle.PAGE:
            return artwork.page.centre
        if self.centre_on is Middle.PART:
            if not artwork.parts:
                raise Refusal("there is no part to centre on", "name the part in the recipe")
            return centre_of_parts(artwork)
        if self.centre_on is Middle.FIELD:
            field = field_box(artwork, bench.machine)
            if field is None:
                raise Refusal("there is no field to centre on", "give the machine its field")
            return field.centroid.x, field.centroid.y
        return None

    def _silhouettes(
        self, artwork: Artwork, bench: Bench, matrix: Matrix
    ) -> tuple[tuple[MultiPolygon, ...], tuple[MultiPolygon, ...]]:
        """Parts and keep-off areas of the drawing move with it; those given by numbers stay."""
        if self.centre_on is Middle.PART:
            return artwork.parts, artwork.keep_off
        drawn = [isinstance(part.outline, str) for part in bench.parts]
        drawn += [True] * (len(artwork.parts) - len(drawn))
        parts = tuple(
            _mapped(part, matrix) if moves else part
            for part, moves in zip(artwork.parts, drawn, strict=False)
        )
        return parts, tuple(_mapped(area, matrix) for area in artwork.keep_off)

    def _findings(self, factor: float) -> list[Finding]:
        found = []
        if abs(factor - 1) > ENOUGH:
            message = f"the artwork was scaled by {factor:.4g}; rows are longer or shorter now"
            remedy = "look at the settings again: what marked evenly at one size may not at another"
            found.append(warn("size-changed", message, remedy))
        if self.mirror:
            found.append(note("mirrored", "the artwork is mirrored left and right"))
        return found


def _box(artwork: Artwork) -> tuple[float, float, float, float]:
    boxes = [s.geometry.bounds for s in artwork.shapes if not s.geometry.is_empty]
    if not boxes:
        raise Refusal("there is no artwork to place", "check that the drawing is not empty")
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def _mapped(geometry: Geometry, matrix: Matrix) -> Geometry:
    a, b, c, d, e, f = matrix
    return affine_transform(geometry, (a, c, b, d, e, f))


def _moved(shape: Shape, matrix: Matrix) -> Shape:
    sources = tuple(
        replace(s, geometry=None if s.geometry is None else _mapped(s.geometry, matrix))
        for s in shape.sources
    )
    geometry = _mapped(shape.geometry, matrix)
    return replace(
        shape, geometry=geometry, sources=sources, stroke=_restroked(shape.stroke, matrix)
    )


def _restroked(stroke: Stroke | None, matrix: Matrix) -> Stroke | None:
    if stroke is None:
        return None
    a, b, c, d, e, f = matrix
    p, q, r, s, t, u = stroke.matrix
    composed = (
        a * p + c * q,
        b * p + d * q,
        a * r + c * s,
        b * r + d * s,
        a * t + c * u + e,
        b * t + d * u + f,
    )
    within, without = (
        None if area is None else _mapped(area, matrix) for area in (stroke.within, stroke.without)
    )
    return replace(stroke, matrix=composed, within=within, without=without)
