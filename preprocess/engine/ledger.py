"""The ledger: areas and lengths in, added, removed, out. It must balance, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

_RELATIVE = 1e-9
"""Largest difference of the two sides of an entry, as a share of the amounts that moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Area in mm² and length of lines in mm; bars count as area."""

    area: float = 0.0
    length: float = 0.0

    def __add__(self, other: Amount) -> Amount:
        return Amount(area=self.area + other.area, length=self.length + other.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Effect of one pass on one layer: amounts added and removed, each measured by itself."""

    layer: str
    added: Amount = Amount()
    removed: Amount = Amount()
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Imbalance:
    """An entry that does not agree with the geometry: always our own bug."""

    layer: str
    what: str
    expected: float
    found: float


def amount_of(shape: Shape) -> Amount:
    """Area and length of one shape, its bars included."""
    area = shape.geometry.area + (shape.bars.area if shape.bars is not None else 0.0)
    return Amount(area=area, length=0.0 if shape.is_area else shape.geometry.length)


def totals(artwork: Artwork) -> dict[str, Amount]:
    """Area and length of each layer as it stands; each shape counts in full, overlaps twice."""
    amounts = {layer.name: Amount() for layer in artwork.layers}
    for shape in artwork.shapes:
        amounts[shape.layer] = amounts.get(shape.layer, Amount()) + amount_of(shape)
    return amounts


def imbalances(
    before: Mapping[str, Amount], changes: Iterable[Change], after: Mapping[str, Amount]
) -> tuple[Imbalance, ...]:
    """Entries where before + added − removed differs from after by more than 1e-9 of what moved."""
    changes = tuple(changes)
    found: list[Imbalance] = []
    for layer in sorted({*before, *after, *(change.layer for change in changes)}):
        mine = [change for change in changes if change.layer == layer]
        for what in ("area", "length"):
            start = getattr(before.get(layer, Amount()), what)
            added = fsum(getattr(change.added, what) for change in mine)
            removed = fsum(getattr(change.removed, what) for change in mine)
            end = getattr(after.get(layer, Amount()), what)
            expected = start + added - removed
            if abs(expected - end) > _RELATIVE * max(start + added, end, 1e-3):
                found.append(Imbalance(layer=layer, what=what, expected=expected, found=end))
    return tuple(found)
