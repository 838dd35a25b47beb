"""merge: unites the engraved areas of a layer into one compound path."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, ZONED
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, note
from preprocess.geometry.base.intersecting_pairs import interiors_intersect, intersecting_batches
from preprocess.geometry.overlay.booleans import union
from preprocess.passes._shared.sweep_effect import sweep_note
from preprocess.passes._shared.unique_ids import unique_ids

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Geometries, Indices
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench


_WORTH_TELLING = 1e-3
"""Overlaps below this, in mm², come from rounding and are not reported."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge(Params):
    """Unite the engraved areas of each layer into one compound path, swept as a whole.

    Overlaps are united, so that nothing is marked twice; holes and islands stay. The compound
    takes the place of its first shape in the order of marking. Each level of a layer becomes a
    compound of its own.
    """

    name: ClassVar = "merge"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), gives=frozenset({MERGED}), keeps=frozenset({FILLED, ZONED})
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Merge layer by layer; lines and shapes that are not chosen stay."""
        groups: dict[tuple[str, int | None], list[Shape]] = {}
        for shape in selected_areas(artwork, self):
            groups.setdefault((shape.layer, shape.level), []).append(shape)
        several = [shapes for shapes in groups.values() if len(shapes) > 1]
        left = artwork.exchanged((shape, ()) for shapes in several for shape in shapes)
        wanted = [_name(shapes[0]) for shapes in several]
        names = unique_ids(wanted, [shape.id for shape in left.shapes])
        merged = [(old, _compound(name, old)) for name, old in zip(names, several, strict=True)]
        changes = [_change(old, new) for old, new in merged]
        findings = [
            found
            for old, change in zip(several, changes, strict=True)
            for found in _findings(old, change)
        ]
        return Outcome(
            artwork=artwork.exchanged(
                (shape, (new,) if shape is old[0] else ()) for old, new in merged for shape in old
            ),
            findings=(*findings, *sweep_note(self.name, bench)),
            changes=tuple(changes),
        )


def _name(shape: Shape) -> str:
    """Other than the id of the output layer, which the same file needs for the group."""
    return f"{shape.layer}{'' if shape.level is None else f'-{shape.level}'}-compound"


def _compound(name: str, shapes: Sequence[Shape]) -> Shape:
    area = union([shape.geometry for shape in shapes])
    sources = tuple(source for shape in shapes for source in shape.sources)
    return replace(shapes[0], id=name, geometry=area, sources=sources)


def _change(merged: Sequence[Shape], compound: Shape) -> Change:
    """Ledger entries: overlaps are removed; closing slits along shared edges may add a trace."""
    twice = fsum(shape.geometry.area for shape in merged) - compound.geometry.area
    return Change(
        layer=compound.layer,
        added=Amount(area=max(0.0, -twice)),
        removed=Amount(area=max(0.0, twice)),
        why="overlaps united",
    )


def _findings(merged: Sequence[Shape], change: Change) -> list[Finding]:
    twice = change.removed.area
    if twice <= _WORTH_TELLING:
        return []
    message = f"{twice:.2f} mm² of {change.layer} overlapped and would have been marked twice"
    return [note("overlaps-united", message, elements=_overlapping(merged))]


def _overlapping(shapes: Sequence[Shape]) -> list[str]:
    """Ids of the shapes whose insides meet, in order.

    Each shape is compared with its first neighbour, those still alone with their second, and so
    on: where much overlaps, most are settled at once.
    """
    areas = np.array([shape.geometry for shape in shapes], dtype=object)
    met = np.zeros(len(areas), dtype=bool)
    for one, other in intersecting_batches(areas, areas):
        _meet(areas, one, other, met)
    return list(dict.fromkeys(shapes[index].id for index in np.flatnonzero(met).tolist()))


def _meet(areas: Geometries, one: Indices, other: Indices, met: Booleans) -> None:
    rest = (one != other) & ~met[one]
    while rest.any():
        one, other = one[rest], other[rest]
        first = np.diff(one, prepend=-1) != 0
        a, b = one[first], other[first]
        inside = interiors_intersect(areas[a], areas[b])
        met[a[inside]] = met[b[inside]] = True
        rest = ~first & ~met[one]
