"""Facts about the artwork that passes may need, give, keep or seal.

A fact holds layer by layer. It has a namespaced name, a sentence, and a checker for a real
artwork. Contracts name facts, never other passes, so plugins can take part.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from preprocess.model.artwork.artwork import Artwork


@dataclass(frozen=True, slots=True)
class Fact:
    """A statement that is true of one layer of an artwork.

    `sentence` completes "step 3 needs that …". A sealed fact may not be undone by a later pass.
    """

    name: str
    sentence: str
    holds: Callable[[Artwork, str], bool] = field(compare=False, repr=False)


def _filled(artwork: Artwork, layer: str) -> bool:
    return all(
        shape.is_area for shape in artwork.shapes_of(layer) if shape.operation is Operation.ENGRAVE
    )


def _merged(artwork: Artwork, layer: str) -> bool:
    levels = [shape.level for shape in artwork.shapes_of(layer) if shape.is_engraved_area]
    return len(levels) == len(set(levels))


def _separate(artwork: Artwork, layer: str) -> bool:
    return all(
        len(shape.geometry.geoms) == 1
        for shape in artwork.shapes_of(layer)
        if shape.is_engraved_area
    )


def _zoned(artwork: Artwork, layer: str) -> bool:
    return all(
        shape.level is not None for shape in artwork.shapes_of(layer) if shape.is_engraved_area
    )


def _barred(artwork: Artwork, layer: str) -> bool:
    areas = [shape for shape in artwork.shapes_of(layer) if shape.is_engraved_area]
    return not areas or any(shape.bars is not None for shape in areas)


def _interleaved(artwork: Artwork, layer: str) -> bool:
    return all(
        shape.round is not None for shape in artwork.shapes_of(layer) if shape.is_engraved_area
    )


def _powered(artwork: Artwork, layer: str) -> bool:
    levels = {shape.level for shape in artwork.shapes_of(layer) if shape.is_engraved_area}
    mine = artwork.layer(layer) if levels else None
    return mine is None or all(
        mine.plain_share is not None if level is None else bool(mine.shares) for level in levels
    )


def _in_greys(artwork: Artwork, layer: str) -> bool:
    return all(
        shape.grey is not None for shape in artwork.shapes_of(layer) if shape.is_engraved_area
    )


FILLED = Fact("core.filled", "no line is to be engraved", _filled)
MERGED = Fact("core.merged", "the areas of a layer are one path", _merged)
SEPARATE = Fact("core.separate", "each connected area is its own path", _separate)
ZONED = Fact("core.zoned", "areas carry levels", _zoned)
BARRED = Fact("core.barred", "bars stand beside the rows", _barred)
INTERLEAVED = Fact("core.interleaved", "areas are cut into rounds of rows", _interleaved)
POWERED = Fact("core.powered", "the levels have solved powers", _powered)
IN_GREYS = Fact("core.in-greys", "areas are images of greys", _in_greys)

AS_READ = (FILLED, MERGED, SEPARATE)
CORE = (FILLED, MERGED, SEPARATE, ZONED, BARRED, INTERLEAVED, POWERED, IN_GREYS)


def facts_of(artwork: Artwork, layer: str, among: Iterable[Fact] = AS_READ) -> frozenset[Fact]:
    """The facts that hold of one layer of a real artwork."""
    return frozenset(fact for fact in among if fact.holds(artwork, layer))
