"""place: sizes, turns and centres the drawing on the part, and copies it over a tray."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Ge, Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger_entries import entries_of, exchange_entries
from preprocess.engine.selection import selection_test
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.base.affine import about_point, compose, rotation, scaling, translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.marking.machine.machine_field import centre_of_parts, field_box
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.transform import shape_mapped
from preprocess.passes.place.off_page import OFF_THE_PAGE, off_the_page
from preprocess.passes.place.silhouettes import drawn_parts, moved_silhouettes
from preprocess.passes.place.tray import copy_over_tray, tray_findings, tray_of
from preprocess.units import Angle, Length, digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely import Polygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.artwork.shape import Matrix, Shape
    from preprocess.model.bench.bench import Bench


_SAME = 1e-9
"""Share by which a size may differ and still be the same."""

_ROUNDED = 1e-3
"""Share by which a width and a height, both rounded by a person, may disagree on the scale."""

Count = Annotated[int, Ge(1)]
Spacing = Annotated[Length, Gt(0)]

_SMALL = 1e-4
"""mm; an artwork without that much width or height has none that could be scaled."""


class CentreOn(StrEnum):
    """Target of the centring."""

    PART = "part"
    FIELD = "field"
    PAGE = "page"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceDrawing(Params):
    """Scale the drawing to a width or height, mirror, turn and centre it.

    It is mirrored and turned about its middle, then scaled, then moved; the page stays. Parts and
    keep-off areas drawn as elements move with it, unless the artwork is centred on the part or
    only some of it is chosen. Guides move along, but do not count for middle and size. Copies for
    a tray of parts come last: the drawing stands in their middle, each copy has its own silhouette
    and keep-off areas, and the page grows alike on all sides.
    """

    name: ClassVar = "place"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE}))

    width: Annotated[Length | None, Gt(0), Doc("width of the artwork as it will lie")] = None
    height: Annotated[Length | None, Gt(0), Doc("height of the artwork as it will lie")] = None
    stretch: Annotated[bool, Doc("let width and height disagree and stretch unevenly")] = False
    mirror: Annotated[bool, Doc("mirror left and right, for the underside of a part")] = False
    rotate: Annotated[Angle, Doc("turn about its middle, counter-clockwise as seen")] = 0.0
    centre_on: Annotated[CentreOn, Doc("put its middle on the middle of part, field or page")] = (
        CentreOn.NONE
    )
    shift: Annotated[tuple[Length, Length], Doc("then move to the right and down by this much")] = (
        0.0,
        0.0,
    )
    copies: Annotated[
        tuple[Count, Count] | None,
        Doc("how many across and down; the upper left one is marked first, then those beside it"),
    ] = None
    spacing: Annotated[
        tuple[Spacing, Spacing] | None,
        Doc("from the middle of one copy to that of the next, across and down"),
    ] = None

    def contract_on(self, bench: Bench) -> Contract:  # noqa: ARG002
        """Copies of a path are several paths: merge them after they are made."""
        several = self.copies is not None and self.copies != (1, 1)
        keeps = self.contract.keeps - {MERGED} if several else self.contract.keeps
        return replace(self.contract, keeps=keeps)

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Map shapes, their sources and strokes by one affine map, then copy them.

        Raises:
            Refusal: size or middle is impossible, width and height disagree, or copies overlap.
        """
        tray = tray_of(self.copies, self.spacing, whole=not (self.only or self.except_))
        if tray is None or not artwork.shapes:
            return self._once(artwork, bench)
        return self.lay_out(dict.fromkeys(range(1, len(tray.shifts) + 1), artwork), bench)

    def lay_out(self, seats: Mapping[int, Artwork], bench: Bench, /) -> Outcome:
        """Map the label of each seat alike, by the size and middle of the first, and lay them out.

        Seats that are not named stay empty; their part and keep-off areas stand there all the same.

        Raises:
            Refusal: as for a single drawing.
        """
        tray = tray_of(self.copies, self.spacing, whole=not (self.only or self.except_))
        first = seats[min(seats)]
        if tray is None:
            return self._once(first, bench)
        like = _outline(first.shapes)
        different = {id(artwork): artwork for artwork in seats.values()}
        once = {key: self._once(artwork, bench, like) for key, artwork in different.items()}
        placed = {seat: once[id(artwork)].artwork for seat, artwork in seats.items()}
        after = copy_over_tray(placed, tray)
        told = dict.fromkeys(f for one in once.values() for f in one.findings)
        beyond = [f for f in told if f.code != OFF_THE_PAGE]
        empty = [seat for seat in range(1, len(tray.shifts) + 1) if seat not in seats]
        return Outcome(
            artwork=after,
            findings=(*beyond, *tray_findings(after, tray, bench.machine_or_default, empty)),
            changes=exchange_entries(first.shapes, after.shapes, "placed on a tray"),
        )

    def _once(self, artwork: Artwork, bench: Bench, like: Polygon | None = None) -> Outcome:
        """All but the copies; by the outline of another artwork where one is given."""
        wanted = selection_test(artwork, self)
        mine = [shape for shape in artwork.shapes if wanted(shape)]
        outline = _outline(mine) if like is None else like
        if outline.is_empty:
            return Outcome(artwork=artwork)
        scale, matrix = self._map(artwork, bench, outline)
        if _changes_nothing(matrix):
            return Outcome(artwork=artwork)
        placed = [shape_mapped(shape, matrix) for shape in mine]
        exchanges = [(old, (new,)) for old, new in zip(mine, placed, strict=True)]
        moved = self._with_silhouettes(artwork.exchanged(exchanges), bench, matrix)
        result = replace(moved, pictures=self._pictures(artwork, matrix))
        return Outcome(
            artwork=result,
            findings=(
                *self._findings(
                    scale, apply_affine(outline, matrix), carried=result.parts != artwork.parts
                ),
                *off_the_page(apply_affine(outline, matrix), artwork),
            ),
            changes=entries_of(exchanges, "placed"),
        )

    def _map(
        self, artwork: Artwork, bench: Bench, outline: Polygon
    ) -> tuple[tuple[float, float], Matrix]:
        """Factors across and down, and the whole map: mirror, turn, scale, move."""
        turn = about_point(rotation(self.rotate, mirrored=self.mirror), _middle(outline))
        scale = self._scale(apply_affine(outline, turn))
        sized = compose(about_point(scaling(*scale), _middle(outline)), turn)
        move = self._move(artwork, bench, apply_affine(outline, sized))
        return scale, compose(translation(*move), sized)

    def _scale(self, outline: Polygon) -> tuple[float, float]:
        """Factors across and down for an outline that is turned already."""
        across = _factor("width", self.width, outline.bounds[2] - outline.bounds[0])
        down = _factor("height", self.height, outline.bounds[3] - outline.bounds[1])
        if across is None or down is None:
            factor = across or down or 1.0
            return factor, factor
        if self.stretch:
            return across, down
        if abs(across / down - 1) > _ROUNDED:
            raise Refusal(
                f"width {digits(self.width or 0)} mm is {digits(across, 4)} times that of the "
                f"artwork, height {digits(self.height or 0)} mm {digits(down, 4)} times",
                "give one of the two, or stretch: true",
            )
        return min(across, down), min(across, down)

    def _move(self, artwork: Artwork, bench: Bench, outline: Polygon) -> tuple[float, float]:
        right, down = self.shift
        target = self._target(artwork, bench)
        if target is None:
            return right, down
        x, y = _middle(outline)
        return target[0] - x + right, target[1] - y + down

    def _target(self, artwork: Artwork, bench: Bench) -> tuple[float, float] | None:
        if self.centre_on is CentreOn.PAGE:
            return artwork.page.centre
        if self.centre_on is CentreOn.PART:
            if not artwork.parts:
                raise Refusal("there is no part to centre on", "name the part in the recipe")
            return centre_of_parts(artwork)
        if self.centre_on is CentreOn.FIELD:
            field = field_box(artwork, bench.machine_or_default)
            if field is None:
                raise Refusal("there is no field to centre on", "give the machine its field")
            return _middle(field)
        return None

    def _with_silhouettes(self, artwork: Artwork, bench: Bench, matrix: Matrix) -> Artwork:
        """Parts, keep-off areas and poses in their place; they stay where they are the aim."""
        drawn = any(drawn_parts(artwork, bench))
        if self.only or self.except_ or (drawn and self._is_centred_on_parts(bench)):
            return artwork
        return moved_silhouettes(artwork, bench, matrix)

    def _pictures(self, artwork: Artwork, matrix: Matrix) -> tuple[Picture, ...]:
        """Embedded pictures go with the drawing as a whole."""
        if self.only or self.except_:
            return artwork.pictures
        return tuple(replace(one, matrix=compose(matrix, one.matrix)) for one in artwork.pictures)

    def _is_centred_on_parts(self, bench: Bench) -> bool:
        """True if the target is the parts' own middle; a field without a place is centred there."""
        if self.centre_on is CentreOn.FIELD:
            return bench.machine_or_default.field_origin is None
        return self.centre_on is CentreOn.PART

    def _findings(
        self, scale: tuple[float, float], outline: Polygon, *, carried: bool
    ) -> list[Finding]:
        left, top, right, bottom = outline.bounds
        found = []
        if max(abs(factor - 1) for factor in scale) > _SAME:
            times = " × ".join(digits(factor, 4) for factor in dict.fromkeys(scale))
            message = (
                f"the artwork is {times} times its drawn size, {right - left:.2f} × "
                f"{bottom - top:.2f} mm; rows and gaps changed with it"
            )
            remedy = "check the settings: those that mark evenly at one size may not at another"
            if carried:
                remedy += "; the part's outline was scaled too: check it against the printed part"
            found.append(warn("size-changed", message, remedy))
        if self.mirror:
            found.append(note("mirrored", "the artwork is mirrored left and right"))
        return found


def _outline(shapes: Sequence[Shape]) -> Polygon:
    """Hull of what is to be marked; of the guides where there is nothing else."""
    marked = [shape for shape in shapes if shape.operation is not Operation.GUIDE]
    geometries = [shape.geometry for shape in marked or shapes]
    return shapely.convex_hull(shapely.geometrycollections(geometries))


def _factor(name: str, wanted: float | None, has: float) -> float | None:
    if wanted is None:
        return None
    if has < _SMALL:
        other = "height" if name == "width" else "width"
        raise Refusal(
            f"the artwork has no {name} that could become {digits(wanted)} mm", f"give the {other}"
        )
    return wanted / has


def _middle(outline: Polygon) -> tuple[float, float]:
    left, top, right, bottom = outline.bounds
    return (left + right) / 2, (top + bottom) / 2


def _changes_nothing(matrix: Matrix) -> bool:
    same = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    return all(abs(value - other) <= _SAME for value, other in zip(matrix, same, strict=True))
