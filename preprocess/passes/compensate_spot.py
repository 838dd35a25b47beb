"""compensate-spot: moves edges inward by the half spot and the bleed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selected_areas, selection_test
from preprocess.findings import Finding, counted, note, one_by_one, warn
from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.offset.outlines import area_within
from preprocess.geometry.offset.safe_offset import KeptKind, offset_safely, share_offset
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import groups_within
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import half_spot
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.geometry.offset.safe_offset import KeptPlace
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

    _Moved = tuple[Shape, Shape, tuple[KeptPlace, ...]]


class Lines(StrEnum):
    """Choice of scored lines that move."""

    OUTLINES = "outlines"
    CLOSED = "closed"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class CompensateSpot(Params):
    """Move edges inward by the width that the beam adds, so that the mark is as large as drawn.

    The beam marks half a spot beyond its path, and the filament bleeds a little further. Areas
    shrink by both; with a negative `by` they grow. Nothing falls apart or grows together: thin
    bridges and parts, narrow counters and gaps stay as drawn, each with a warning. Edges where
    areas of one layer touch stay. Scored outlines move too; drawn lines and cuts stay.
    """

    name: ClassVar = "compensate-spot"
    contract: ClassVar = Contract(needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED}))

    by: Annotated[
        Length | None,
        Doc("how far edges move inward; without it half the machine's spot and the bleed"),
    ] = None
    lines: Annotated[
        Lines,
        Doc("which scored lines move: outlines of areas, all closed lines, or none"),
    ] = Lines.OUTLINES

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Move edges, layer by layer.

        Raises:
            Refusal: distance and spot of the machine are both missing.
        """
        wanted = selection_test(artwork, self)
        areas = selected_areas(artwork, self)
        lines = [shape for shape in artwork.shapes if wanted(shape) and self._moves(shape)]
        by = self._by(bench) if areas or lines else 0.0
        moved = [one for group in _groups(areas, by) for one in _areas(group, by)]
        moved += [_lines(shape, by) for shape in lines]
        changed = [
            (old, () if new.geometry.is_empty else (new,))
            for old, new, _ in moved
            if not new.geometry.equals_exact(old.geometry, 0.0)
        ]
        unknown = self.by is None and (bench.filament is None or bench.filament.bleed is None)
        return Outcome(
            artwork=artwork.exchanged(changed),
            findings=tuple(compensation_findings(moved, by, bleed_unknown=unknown)),
            changes=entries_of(changed, "edges moved"),
        )

    def _moves(self, shape: Shape) -> bool:
        """Test whether a scored line moves."""
        if shape.is_area or shape.operation is not Operation.SCORE or self.lines is Lines.NONE:
            return False
        drawn_as_line = shape.stroke is not None and self.lines is Lines.OUTLINES
        return not drawn_as_line and any(line.is_closed for line in shape.geometry.geoms)

    def _by(self, bench: Bench) -> float:
        if self.by is not None:
            return self.by
        bleed = bench.filament.bleed if bench.filament is not None else None
        return half_spot(bench, "give compensate-spot by: 0.04 mm") + (bleed or 0.0)


def _groups(areas: Sequence[Shape], by: float) -> Iterator[list[Shape]]:
    """Areas of one layer that touch, or would when they grow."""
    for layer in dict.fromkeys(shape.layer for shape in areas):
        mine = [shape for shape in areas if shape.layer == layer]
        for group in groups_within([shape.geometry for shape in mine], max(0.0, -2.1 * by)):
            yield [mine[i] for i in group]


def _areas(group: Sequence[Shape], by: float) -> list[_Moved]:
    drawn = [shape.geometry for shape in group]
    if len(group) == 1:
        area, kept = offset_safely(drawn[0], by)
        return [(group[0], replace(group[0], geometry=area), kept)]
    whole, kept = offset_safely(union(drawn), by)
    areas = share_offset(drawn, whole, by) if by else drawn
    owners = [_nearest(drawn, one) for one in kept]
    return [
        (
            shape,
            replace(shape, geometry=area),
            tuple(one for one, owner in zip(kept, owners, strict=True) if owner == number),
        )
        for number, (shape, area) in enumerate(zip(group, areas, strict=True))
    ]


def _nearest(areas: Sequence[shapely.Geometry], kept: KeptPlace) -> int:
    return int(shapely.distance(areas, shapely.Point(kept.at)).argmin())


def _lines(shape: Shape, by: float) -> _Moved:
    """Closed lines as edges of what they enclose; open ones stay."""
    area, kept = offset_safely(area_within(shape.geometry), by)
    rings = shapely.get_rings(shapely.get_parts(area))
    still = [line for line in shape.geometry.geoms if not line.is_closed]
    geometry = as_lines([*map(shapely.LineString, rings), *still]) if by else shape.geometry
    return shape, replace(shape, geometry=geometry), kept


def compensation_findings(
    moved: Sequence[_Moved], by: float, *, bleed_unknown: bool
) -> Iterator[Finding]:
    """All findings about shapes before and after, with the places that stayed as drawn.

    Args:
        moved: shape, the same with its edges moved, and what of it stayed.
        by: how far inward, mm; negative means outward.
        bleed_unknown: whether the distance lacks the bleed of the filament.
    """
    if not moved or not by:
        yield note("nothing-compensated", "no edge was moved for the width of the beam")
        return
    before = sum(old.geometry.area for old, _, _ in moved)
    after = sum(new.geometry.area for _, new, _ in moved)
    message = (
        f"edges of {counted(len(moved), 'shape')} moved {'inward' if by > 0 else 'outward'} by "
        f"{digits(abs(by))} mm: {before:.2f} mm² became {after:.2f} mm²"
    )
    if gone := [old.id for old, new, _ in moved if new.geometry.is_empty]:
        message += f"; of {', '.join(gone)} nothing is left beside the neighbours' moved edges"
    yield note("spot-compensated", message, elements=[old.id for old, _, _ in moved])
    if bleed_unknown:
        message = "bleed unknown: compensated for half the spot only"
        yield note("bleed-unknown", message, "give the filament its bleed, or the pass its by")
    for shape, _, kept in moved:
        for kind in dict.fromkeys(one.kind for one in kept):
            for places in one_by_one([one for one in kept if one.kind is kind]):
                yield _stayed(shape, kind, places, abs(by))


def _stayed(shape: Shape, kind: KeptKind, places: Sequence[KeptPlace], by: float) -> Finding:
    what, stay = counted(len(places), kind), "stay" if len(places) > 1 else "stays"
    if kind in {KeptKind.PART, KeptKind.BRIDGE, KeptKind.END}:
        message = (
            f"{what} of {shape.id} {stay} as drawn, too thin to lose {digits(by)} mm on either "
            "side: the mark gets wider there"
        )
        remedy = "thicken it in the drawing, or score it as a line"
        told = warn("too-thin-for-spot", message, remedy, elements=[shape.id], layer=shape.layer)
    else:
        message = (
            f"{what} of {shape.id} {stay} as drawn, too narrow to lose {digits(by)} mm on either "
            "side: it would close"
        )
        remedy = "widen it in the drawing, or let the edges grow less"
        told = warn("too-close-for-spot", message, remedy, elements=[shape.id], layer=shape.layer)
    return replace(told, spot=places[0].at)
