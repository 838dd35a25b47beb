"""compensate-spot: moves edges so that the mark, not the beam's path, is as large as drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely

from preprocess.errors import Refusal
from preprocess.geometry.booleans import union
from preprocess.geometry.components import together
from preprocess.geometry.edge_shift import shared_out, shifted
from preprocess.geometry.outlines import enclosed
from preprocess.geometry.parts import as_lines
from preprocess.marking.spot_notes import spot_notes
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, MERGED
from preprocess.model.settings import Operation
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.entries import exchanged
from preprocess.passes.select import chosen
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.geometry.edge_shift import Kept
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape

    Moved = tuple[Shape, Shape, tuple[Kept, ...]]


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
        if bench.machine is None or bench.machine.spot is None:
            raise Refusal(
                "nobody says how wide the beam marks",
                "give compensate-spot a distance, such as by: 0.04 mm, or name the machine's spot",
            )
        bleed = bench.filament.bleed if bench.filament is not None else None
        return bench.machine.spot / 2 + (bleed or 0.0)


def _groups(areas: Sequence[Shape], by: float) -> Iterator[list[Shape]]:
    """Areas of one layer that touch, or would when they grow."""
    for layer in dict.fromkeys(shape.layer for shape in areas):
        mine = [shape for shape in areas if shape.layer == layer]
        for group in together([shape.geometry for shape in mine], max(0.0, -2.1 * by)):
            yield [mine[i] for i in group]


def _areas(group: Sequence[Shape], by: float) -> list[Moved]:
    drawn = [shape.geometry for shape in group]
    if len(group) == 1:
        area, kept = shifted(drawn[0], by)
        return [(group[0], replace(group[0], geometry=area), kept)]
    whole, kept = shifted(union(drawn), by)
    areas = shared_out(drawn, whole, by) if by else drawn
    owners = [_nearest(drawn, one) for one in kept]
    return [
        (
            shape,
            replace(shape, geometry=area),
            tuple(one for one, owner in zip(kept, owners, strict=True) if owner == number),
        )
        for number, (shape, area) in enumerate(zip(group, areas, strict=True))
    ]


def _nearest(areas: Sequence[shapely.Geometry], kept: Kept) -> int:
    return int(shapely.distance(areas, shapely.Point(kept.at)).argmin())


def _lines(shape: Shape, by: float) -> Moved:
    """Closed lines as edges of what they enclose; open ones stay."""
    area, kept = shifted(enclosed(shape.geometry), by)
    rings = shapely.get_rings(shapely.get_parts(area))
    still = [line for line in shape.geometry.geoms if not line.is_closed]
    geometry = as_lines([*map(shapely.LineString, rings), *still]) if by else shape.geometry
    return shape, replace(shape, geometry=geometry), kept
