"""Cells before they have a place: their shapes, and how cells are shared out over bands.

Cells of one layer never share a row: software that sweeps a whole colour together would lengthen
the rows of one by those of the other. So each band, from left to right, holds one cell of each
layer, and the cells of a layer stand one below the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from shapely import MultiLineString, MultiPolygon

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Drawn: TypeAlias = MultiPolygon | MultiLineString

LETTERS = "ABCDEFG"
"""Names of layers; with the labels there are at most 8 settings to type in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One of the things that each layer shows: shapes at the origin, and their lengths in mm.

    `bar` is the distance in mm of a bar beyond the edge of the plate, to the left or right as
    `side` (−1, 1) says; such a cell stands at that edge.
    """

    shapes: tuple[Drawn, ...]
    size: Mapping[str, float]
    bar: float | None = None
    side: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One cell without a place: the number of its layer, and which variant it shows."""

    setting: int
    number: int
    variant: Variant

    @property
    def name(self) -> str:
        """Letter of the layer and number of the variant."""
        return f"{LETTERS[self.setting]}{self.number + 1}"


Bands = tuple[tuple[Piece, ...], ...]


def shared_out(layers: int, variants: Sequence[Variant]) -> Bands:
    """Every layer shows every variant, each time in another band.

    Layer i shows in band k the variant (i + k): so wide and narrow cells stand in one band, which
    takes least plate.
    """
    count = len(variants)
    return tuple(
        tuple(
            Piece(setting=i, number=(i + k) % count, variant=variants[(i + k) % count])
            for i in range(layers)
        )
        for k in range(count)
    )


def side_by_side(layers: int, groups: Sequence[Sequence[Variant]]) -> Bands:
    """Each group of variants in one band to each layer: cells of a layer do share rows."""
    bands = []
    for setting in range(layers):
        first = 0
        for group in groups:
            bands.append(
                tuple(
                    Piece(setting=setting, number=first + n, variant=variant)
                    for n, variant in enumerate(group)
                )
            )
            first += len(group)
    return tuple(bands)
