"""compensate-spot: moves edges so that the mark, not the beam's path, is as large as drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED
from preprocess.engine.ledger_entries import exchanged
from preprocess.engine.selection import chosen
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.offset.outlines import enclosed_area
from preprocess.geometry.offset.safe_offset import KeptKind, offset_safely, share_offset
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import groups_within
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.geometry.offset.safe_offset import KeptPlace
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

    Moved = tuple[Shape, Shape, tuple[KeptPlace, ...]]


class Lines(StrEnum):
    """Which scored lines move."""

    OUTLINES = "outlines"
    CLOSED = "closed"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class CompensateSpot(Params):
    """Draw edges in by what the beam marks beyond them, so that the mark is as large as drawn.

    The beam marks half a spot beyond the path of its middle, and the filament bleeds a little
    further. Areas get smaller by both; with a negative `by` they grow, for marks that stay too
    small. Nothing falls apart or grows together: bridges and parts that are too thin, counters and
    gaps that are too narrow stay as drawn, each with a warning. Where areas of one layer touch,
    nothing moves. Scored outlines move likewise; lines that were drawn as lines stay, and so do
    cuts.
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
            Refusal: neither a distance nor the machine's spot is known.
        """
        wanted = chosen(artwork, self)
        mine = [shape for shape in artwork.shapes if wanted(shape)]
        areas = [shape for shape in mine if shape.is_engraved_area]
        lines = [shape for shape in mine if self._moves(shape)]
        by = self._by(bench) if areas or lines else 0.0
        moved = [one for group in _groups(areas, by) for one in _areas(group, by)]
        moved += [_lines(shape, by) for shape in lines]
        changed = [one for one in moved if not one[1].geometry.equals_exact(one[0].geometry, 0.0)]
        instead = {id(old): new for old, new, _ in changed}
        unknown = self.by is None and (bench.filament is None or bench.filament.bleed is None)
        return Outcome(
            artwork=replace(artwork, shapes=tuple(instead.get(id(s), s) for s in artwork.shapes)),
            findings=tuple(spot_notes(moved, by, bleed_unknown=unknown)),
            changes=exchanged(
                [old for old, _, _ in changed], [new for _, new, _ in changed], "edges moved"
            ),
        )

    def _moves(self, shape: Shape) -> bool:
        """Whether a scored line is one that moves."""
        if shape.is_area or shape.operation is not Operation.SCORE or self.lines is Lines.NONE:
            return False
        drawn_as_line = shape.stroke is not None and self.lines is Lines.OUTLINES
        return not drawn_as_line and any(line.is_closed for line in shape.geometry.geoms)

    def _by(self, bench: Bench) -> float:
        if self.by is not None:
            return self.by
        spot = bench.machine_or_default.spot
        if spot is None:
            raise Refusal(
                "nobody says how wide the beam marks",
                "give compensate-spot a distance, such as by: 0.04 mm, or name the machine's spot",
            )
        bleed = bench.filament.bleed if bench.filament is not None else None
        return spot / 2 + (bleed or 0.0)


def _groups(areas: Sequence[Shape], by: float) -> Iterator[list[Shape]]:
    """Areas of one layer that touch, or would when they grow."""
    for layer in dict.fromkeys(shape.layer for shape in areas):
        mine = [shape for shape in areas if shape.layer == layer]
        for group in groups_within([shape.geometry for shape in mine], max(0.0, -2.1 * by)):
            yield [mine[i] for i in group]


def _areas(group: Sequence[Shape], by: float) -> list[Moved]:
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


def _lines(shape: Shape, by: float) -> Moved:
    """Closed lines as edges of what they enclose; open ones stay."""
    area, kept = offset_safely(enclosed_area(shape.geometry), by)
    rings = shapely.get_rings(shapely.get_parts(area))
    still = [line for line in shape.geometry.geoms if not line.is_closed]
    geometry = as_lines([*map(shapely.LineString, rings), *still]) if by else shape.geometry
    return shape, replace(shape, geometry=geometry), kept


_TOLD_APART = 12
"""Up to this many places of one kind in a shape are told one by one, more in one sentence."""


def spot_notes(moved: Sequence[Moved], by: float, *, bleed_unknown: bool) -> Iterator[Finding]:
    """All findings about shapes before and after, with the places that stayed as drawn.

    Args:
        moved: shape, the same with its edges moved, and what of it stayed.
        by: how far inward, mm; negative means outward.
        bleed_unknown: whether the distance lacks the bleed of the filament.
    """
    if not moved or not by:
        yield note("nothing-compensated", "no edge was moved for the width of the beam")
        return
    yield _summary(moved, by)
    if bleed_unknown:
        message = "nobody knows how far this filament bleeds, so only half the spot is made up for"
        yield note("bleed-unknown", message, "give the filament its bleed, or the pass its by")
    for shape, _, kept in moved:
        for kind in dict.fromkeys(one.kind for one in kept):
            same = [one for one in kept if one.kind is kind]
            for some in [[one] for one in same] if len(same) <= _TOLD_APART else [same]:
                yield _stayed(shape, kind, some, abs(by))


def _summary(moved: Sequence[Moved], by: float) -> Finding:
    before = sum(old.geometry.area for old, _, _ in moved)
    after = sum(new.geometry.area for _, new, _ in moved)
    message = (
        f"edges of {_count(len(moved), 'shape')} moved {'inward' if by > 0 else 'outward'} by "
        f"{abs(by):g} mm: {before:.2f} mm² became {after:.2f} mm²"
    )
    return note("spot-compensated", message, elements=[old.id for old, _, _ in moved])


def _stayed(shape: Shape, kind: KeptKind, places: Sequence[KeptPlace], by: float) -> Finding:
    several = len(places) > 1
    what = f"{_count(len(places), kind)} of {shape.id}"
    are, stay = ("are", "stay") if several else ("is", "stays")
    if kind in {KeptKind.PART, KeptKind.BRIDGE, KeptKind.END}:
        message = (
            f"{what} {are} too thin to be drawn in by {by:g} mm on either side and {stay} as "
            "drawn, so the mark gets wider there"
        )
        remedy = "thicken it in the drawing, or score it as a line"
        finding = warn("too-thin-for-spot", message, remedy, elements=[shape.id])
    else:
        message = (
            f"{what} {are} too narrow to grow into by {by:g} mm on either side and {stay} as "
            "drawn, so that nothing closes"
        )
        remedy = "widen it in the drawing, or let the edges grow less"
        finding = warn("too-close-for-spot", message, remedy, elements=[shape.id])
    return replace(finding, layer=shape.layer, spot=places[0].at)


def _count(number: int, noun: str) -> str:
    plural = "es" if noun.endswith("ch") else "s"
    return f"{number} {noun}{'' if number == 1 else plural}"
