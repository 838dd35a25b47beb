"""Rounds of one layer as shapes, in marking order: sets of strips, or rows of our own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.rows.hatching import Hatching, hatch_rounds, inset_union
from preprocess.marking.job.plan import row_grid
from preprocess.model.artwork.settings import Operation
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.passes.interleave.strip_grid import strip_grid
from preprocess.passes.interleave.strips import strip_sets

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.machine import FirstRow


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPlan:
    """Plan of the rows of one layer: degrees, mm, the machine's rule; `inset` of own rows."""

    rounds: int
    colours: int
    angle: float
    pitch: float
    rule: FirstRow
    two_way: bool
    inset: float


def strips_of(artwork: Artwork, shapes: Sequence[Shape], plan: RowPlan) -> list[Shape]:
    """The areas, and bars beside them, as one compound of strips for each round."""
    area = union([shape.geometry for shape in shapes])
    bars = [shape.bars for shape in shapes if shape.bars is not None]
    whole = union([area, *bars]) if bars else area
    rows = (plan.angle, plan.pitch)
    grid = strip_grid(whole, rows, plan.rule, artwork.page, artwork.drawing.decimals)
    sets = strip_sets(area, union(bars) if bars else NOTHING, grid, plan.rounds, plan.colours)
    found = [_compound(shapes, *one) for one in zip(sets.areas, sets.bars, strict=True)]
    return _named(artwork, shapes, [one for one in found if not one.geometry.is_empty])


def rows_of(artwork: Artwork, shapes: Sequence[Shape], plan: RowPlan) -> list[Shape]:
    """Rows to score instead of the areas, as one path for each round."""
    (area,) = inset_union([union([shape.geometry for shape in shapes])], plan.inset)
    if area.is_empty:
        return []
    first, count = row_grid(area, plan.angle, plan.pitch, first_row=plan.rule, page=artwork.page)
    hatching = Hatching(
        angle=plan.angle,
        first=first,
        pitch=plan.pitch,
        count=count,
        every=plan.rounds,
        two_way=plan.two_way,
    )
    found = [_compound(shapes, lines) for lines in hatch_rounds(area, hatching, plan.colours)]
    return _named(artwork, shapes, [one for one in found if not one.geometry.is_empty])


def _compound(
    shapes: Sequence[Shape],
    geometry: MultiPolygon | MultiLineString,
    bars: MultiPolygon = NOTHING,
) -> Shape:
    areas = geometry.geom_type == "MultiPolygon"
    return replace(
        shapes[0],
        operation=Operation.ENGRAVE if areas else Operation.SCORE,
        geometry=geometry,
        bars=None if bars.is_empty else bars,
        sources=tuple(source for shape in shapes for source in shape.sources),
    )


def _named(artwork: Artwork, shapes: Sequence[Shape], found: Sequence[Shape]) -> list[Shape]:
    old = {id(shape) for shape in shapes}
    taken = [shape.id for shape in artwork.shapes if id(shape) not in old]
    wanted = [f"{shapes[0].layer}-round-{n}" for n in range(1, len(found) + 1)]
    names = unique_ids(wanted, taken)
    return [
        replace(one, id=name, round=number)
        for number, (one, name) in enumerate(zip(found, names, strict=True))
    ]
