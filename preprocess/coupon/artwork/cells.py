"""Cells before they have a place: their shapes, and their distribution over bands.

Cells of one layer never share a row: software that sweeps all shapes of a colour together would
lengthen the rows of both. So each band, from left to right, holds one cell of each layer, and the
cells of a layer stand one below the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, TypeAlias

from shapely import MultiLineString, MultiPolygon

from preprocess.coupon.design.dimensions import LAYER_LETTERS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

CellGeometry: TypeAlias = MultiPolygon | MultiLineString


@dataclass(frozen=True, slots=True, kw_only=True)
class CellVariant:
    """One of the motifs of each layer: shapes at the origin, and their lengths in mm by name.

    `bar` is the distance in mm from the edge of the plate to a bar beyond it, at the left or right
    as `side` (−1, 1) says; such a cell stands at that edge.
    """

    shapes: tuple[CellGeometry, ...]
    size: Mapping[str, float]
    bar: float | None = None
    side: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class UnplacedCell:
    """One cell without a place: the numbers of its layer and of its variant, from 0."""

    setting: int
    number: int
    variant: CellVariant

    @property
    def name(self) -> str:
        """Letter of the layer and number of the variant."""
        return f"{LAYER_LETTERS[self.setting]}{self.number + 1}"


CellBands = tuple[tuple[UnplacedCell, ...], ...]


def cyclic_bands(layers: int, variants: Sequence[CellVariant]) -> CellBands:
    """A cyclic Latin rectangle: layer i shows variant i + k in band k.

    So wide and narrow cells stand in one band, which takes least room on the plate.
    """
    count = len(variants)
    return tuple(
        tuple(
            UnplacedCell(setting=i, number=(i + k) % count, variant=variants[(i + k) % count])
            for i in range(layers)
        )
        for k in range(count)
    )


def grouped_bands(layers: int, groups: Sequence[Sequence[CellVariant]]) -> CellBands:
    """One band for each group of variants of each layer: cells of a layer do share rows."""
    firsts = accumulate((len(group) for group in groups[:-1]), initial=0)
    numbered = [list(enumerate(group, first)) for first, group in zip(firsts, groups, strict=True)]
    return tuple(
        tuple(UnplacedCell(setting=i, number=number, variant=variant) for number, variant in group)
        for i in range(layers)
        for group in numbered
    )
