"""drop-duplicates: what lies on itself is marked once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge

from preprocess.findings import Finding, note, warn
from preprocess.geometry.repeats import equal_areas, without_repeats
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, MERGED, SEPARATE, ZONED
from preprocess.model.ledger import Amount, Change
from preprocess.model.settings import Operation
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.select import chosen
from preprocess.units import Length

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class DropDuplicates(Params):
    """Mark coincident shapes and lines once: the first one stays.

    Direction does not matter, nor where a ring begins. Shapes count as coincident when they are
    marked by the same operation, in one layer or in several.
    """

    name: ClassVar = "drop-duplicates"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}))

    within: Annotated[Length, Ge(0), Doc("how far apart two outlines may lie and still be one")] = (
        0.01
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Drop later shapes that lie on an earlier one; of lines, the stretches that do."""
        wanted = chosen(artwork, self)
        kept: dict[int, Shape | None] = {}
        for operation in Operation:
            for areas in (True, False):
                mine = [
                    (index, shape)
                    for index, shape in enumerate(artwork.shapes)
                    if shape.operation is operation and shape.is_area is areas and wanted(shape)
                ]
                kept |= self._areas(mine) if areas else self._lines(mine)
        shapes = [kept.get(index, shape) for index, shape in enumerate(artwork.shapes)]
        after = replace(artwork, shapes=tuple(shape for shape in shapes if shape is not None))
        return Outcome(
            artwork=after,
            findings=tuple(_findings(artwork, shapes)),
            changes=tuple(_changes(artwork, shapes)),
        )

    def _areas(self, mine: list[tuple[int, Shape]]) -> dict[int, Shape | None]:
        first = equal_areas([shape.geometry for _, shape in mine], self.within)
        return {
            index: shape if first[number] == number else None
            for number, (index, shape) in enumerate(mine)
        }

    def _lines(self, mine: list[tuple[int, Shape]]) -> dict[int, Shape | None]:
        left = without_repeats([shape.geometry for _, shape in mine], self.within)
        return {
            index: None if lines.is_empty else replace(shape, geometry=lines)
            for (index, shape), lines in zip(mine, left, strict=True)
        }


def _findings(artwork: Artwork, shapes: list[Shape | None]) -> list[Finding]:
    pairs = list(zip(artwork.shapes, shapes, strict=True))
    gone = [before for before, after in pairs if after is None]
    cut = [b for b, a in pairs if a is not None and len(a.geometry.geoms) < len(b.geometry.geoms)]
    found = []
    if gone:
        message = f"{len(gone)} of {len(pairs)} shapes lay on another one and were dropped"
        ids = [shape.id for shape in gone]
        found.append(note("duplicates-dropped", message, elements=ids))
    if cut:
        message = f"lines of {len(cut)} shapes lay on other lines and were dropped"
        found.append(note("duplicate-lines-dropped", message, elements=[s.id for s in cut]))
    layers = {shape.layer for shape in gone}
    emptied = sorted(layers - {shape.layer for shape in shapes if shape is not None})
    if emptied:
        message = f"nothing is left of layer {' and '.join(emptied)}: all of it lay on other layers"
        remedy = "check that the drawing does not hold the same artwork twice by mistake"
        found.append(warn("layer-emptied", message, remedy))
    return found


def _changes(artwork: Artwork, shapes: list[Shape | None]) -> list[Change]:
    lost: dict[str, Amount] = {}
    for before, after in zip(artwork.shapes, shapes, strict=True):
        if after is before:
            continue
        amount = _amount(before)
        rest = Amount() if after is None else _amount(after)
        part = Amount(area=amount.area - rest.area, length=amount.length - rest.length)
        lost[before.layer] = lost.get(before.layer, Amount()) + part
    return [
        Change(layer=layer, removed=amount, why="duplicates dropped")
        for layer, amount in lost.items()
        if amount != Amount()
    ]


def _amount(shape: Shape) -> Amount:
    if shape.is_area:
        return Amount(area=shape.geometry.area)
    return Amount(length=shape.geometry.length)
