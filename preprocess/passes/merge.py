"""merge: the engraved areas of a layer become one compound path."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import shapely

from preprocess.findings import Finding, note, warn
from preprocess.geometry.booleans import union
from preprocess.model.facts import FILLED, MERGED
from preprocess.model.ledger import Amount, Change
from preprocess.model.machine import RasterGroups
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.select import chosen

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape

WORTH_TELLING = 1e-3
"""Overlaps below this, in mm², come from rounding and are not reported."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge(Params):
    """Unite the engraved areas of each layer into one compound path, swept as a whole.

    Where areas overlap they are united, so that nothing is marked twice; holes and islands stay.
    The compound takes the place of the first of its shapes in the order of marking.
    """

    name: ClassVar = "merge"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), gives=frozenset({MERGED}), keeps=frozenset({FILLED})
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Merge layer by layer; lines and other layers are left as they are."""
        wanted = chosen(artwork, self)
        shapes, findings, changes = list(artwork.shapes), [], []
        for layer in artwork.layers:
            mine = [s for s in artwork.shapes_of(layer.name) if s.is_engraved_area and wanted(s)]
            if not mine:
                continue
            compound = _compound(layer.name, mine)
            shapes = _put(shapes, mine, compound)
            change = _change(layer.name, mine, compound)
            changes.append(change)
            findings += _findings(mine, change)
        findings += _without_effect(bench)
        after = replace(artwork, shapes=tuple(shapes))
        return Outcome(artwork=after, findings=tuple(findings), changes=tuple(changes))


def _compound(layer: str, shapes: list[Shape]) -> Shape:
    first = shapes[0]
    sources = tuple(source for shape in shapes for source in shape.sources)
    name = first.id if len(shapes) == 1 else layer
    area = union([shape.geometry for shape in shapes])
    return replace(first, id=name, geometry=area, sources=sources, level=None, stroke=None)


def _put(shapes: list[Shape], merged: list[Shape], compound: Shape) -> list[Shape]:
    gone = {id(shape) for shape in merged}
    place = next(i for i, shape in enumerate(shapes) if id(shape) in gone)
    head = [shape for shape in shapes[:place] if id(shape) not in gone]
    return [*head, compound, *(shape for shape in shapes[place:] if id(shape) not in gone)]


def _change(layer: str, merged: list[Shape], compound: Shape) -> Change:
    twice = sum(shape.geometry.area for shape in merged) - compound.geometry.area
    return Change(
        layer=layer,
        added=Amount(area=max(0.0, -twice)),
        removed=Amount(area=max(0.0, twice)),
        why="overlaps united",
    )


def _findings(merged: list[Shape], change: Change) -> list[Finding]:
    twice = change.removed.area
    if twice <= WORTH_TELLING:
        return []
    message = f"{twice:.2f} mm² of {change.layer} overlapped and would have been marked twice"
    return [note("overlaps-united", message, elements=_overlapping(merged))]


def _overlapping(shapes: list[Shape]) -> list[str]:
    """Ids of the shapes whose insides meet, in order."""
    areas = np.array([shape.geometry for shape in shapes], dtype=object)
    one, other = shapely.STRtree(areas).query(areas, predicate="intersects")
    pairs = one < other
    one, other = one[pairs], other[pairs]
    inside = shapely.relate_pattern(areas[one], areas[other], "T********")
    met = sorted({*one[inside].tolist(), *other[inside].tolist()})
    return list(dict.fromkeys(shapes[index].id for index in met))


def _without_effect(bench: Bench) -> list[Finding]:
    if bench.machine is None or bench.machine.raster_groups is not RasterGroups.EACH_COLOUR:
        return []
    message = "this machine's software sweeps each colour as a whole: merging changes nothing there"
    return [warn("merge-without-effect", message, "leave merge out, unless overlaps are to go")]
