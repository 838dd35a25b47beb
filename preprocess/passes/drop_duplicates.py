"""drop-duplicates: what lies on itself is marked once."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar, NamedTuple

import numpy as np
import shapely
from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import exchanged
from preprocess.engine.selection import chosen
from preprocess.findings import Finding, note, warn
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.lines.collinear import remove_collinear
from preprocess.geometry.lines.duplicates import first_duplicates
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import LineString

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_SHOWN = 8
"""Pairs that are named in a sentence; the finding's elements hold all."""

_MARKED = (Operation.ENGRAVE, Operation.SCORE, Operation.CUT)


class Repeat(NamedTuple):
    """A polygon or line, by the number of its shape and its own, that lies on an earlier shape.

    `rest` are the lines that are left of it where only stretches do, `length` mm in all.
    """

    shape: int
    part: int
    on: int
    rest: tuple[LineString, ...] = ()
    length: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DropDuplicates(Params):
    """Mark coincident shapes and lines once: the first one stays.

    Direction does not matter, nor where a ring begins. Areas and lines count as coincident when
    they are marked by the same operation, in one layer or in several; of a shape that only partly
    repeats others, the areas or lines that do are dropped. Of a line that runs along others, or
    back over itself, for part of its way, those stretches are dropped that are at least twenty
    times `within` and 0.05 mm long; shorter ones are left, for most are crossings. Of strokes that
    may yet become areas the widest stays.
    """

    name: ClassVar = "drop-duplicates"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}))

    within: Annotated[Length, Ge(0), Doc("how far apart two outlines may lie and still be one")] = (
        0.01
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Drop what lies on something marked earlier; guides are not marked and stay."""
        wanted = chosen(artwork, self)
        groups: dict[tuple[Operation, bool], list[int]] = defaultdict(list)
        for number, shape in enumerate(artwork.shapes):
            if shape.operation in _MARKED and wanted(shape):
                groups[shape.operation, shape.is_area].append(number)
        ranked = [_widest_first(artwork, mine) for mine in groups.values()]
        repeats = [r for mine in ranked for r in self._repeats(artwork.shapes, mine)]
        left = _without(artwork.shapes, repeats)
        gone = [artwork.shapes[number] for number in left]
        rest = [shape for shape in left.values() if shape is not None]
        shapes = [left.get(number, shape) for number, shape in enumerate(artwork.shapes)]
        return Outcome(
            artwork=replace(artwork, shapes=tuple(s for s in shapes if s is not None)),
            findings=tuple(_findings(artwork.shapes, repeats)),
            changes=exchanged(gone, rest, "duplicates dropped"),
        )

    def _repeats(self, shapes: Sequence[Shape], mine: Sequence[int]) -> list[Repeat]:
        """Parts of shapes that lie on an earlier part."""
        geometries = np.array([shapes[number].geometry for number in mine], dtype=object)
        parts, owner = shapely.get_parts(geometries, return_index=True)
        own = np.arange(len(parts)) - np.searchsorted(owner, owner)
        first = first_duplicates(parts, self.within)
        again = first != np.arange(len(parts))
        repeats = [
            Repeat(mine[owner[i]], int(own[i]), mine[owner[first[i]]])
            for i in np.flatnonzero(again)
        ]
        kept = np.flatnonzero(~again)
        if len(kept) and not shapes[mine[0]].is_area:
            for number, left in remove_collinear(parts[kept], self.within).items():
                i, length = kept[number], sum(left.along.values())
                on = mine[owner[kept[max(left.along, key=lambda n: (left.along[n], -n))]]]
                repeats.append(Repeat(mine[owner[i]], int(own[i]), on, left.lines, length))
        return repeats


def _widest_first(artwork: Artwork, numbers: Sequence[int]) -> list[int]:
    """Shapes by rank: strokes that may yet become areas change places, so that the widest stays.

    strokes-to-areas may follow, and a fine line does not paint what a wide one does.
    """
    widths = {n: _paint_width(artwork, artwork.shapes[n]) for n in numbers}
    strokes = [n for n in numbers if widths[n] > 0]
    widest = iter(sorted(strokes, key=lambda n: -widths[n]))
    return [next(widest) if widths[n] > 0 else n for n in numbers]


def _paint_width(artwork: Artwork, shape: Shape) -> float:
    """Width in mm of a stroke that nobody chose to trace; 0 for anything else."""
    chosen_to_trace = artwork.layer(shape.layer).operation not in {None, Operation.ENGRAVE}
    if shape.is_area or shape.stroke is None or chosen_to_trace:
        return 0.0
    return shape.stroke.width_mm


def _without(shapes: Sequence[Shape], repeats: Sequence[Repeat]) -> dict[int, Shape | None]:
    """What is left of each shape that repeats something; None where nothing is."""
    dropped: dict[int, dict[int, tuple[LineString, ...]]] = defaultdict(dict)
    for repeat in repeats:
        dropped[repeat.shape][repeat.part] = repeat.rest
    left: dict[int, Shape | None] = {}
    for number in sorted(dropped):
        shape, gone = shapes[number], dropped[number]
        kept = [
            part for i, whole in enumerate(shape.geometry.geoms) for part in gone.get(i, (whole,))
        ]
        rest = as_area(kept) if shape.is_area else as_lines(kept)
        left[number] = replace(shape, geometry=rest) if kept else None
    return left


def _findings(shapes: Sequence[Shape], repeats: Sequence[Repeat]) -> list[Finding]:
    by_layers: dict[tuple[str, str, bool], list[Repeat]] = defaultdict(list)
    for repeat in repeats:
        layers = shapes[repeat.on].layer, shapes[repeat.shape].layer
        by_layers[*layers, repeat.length is not None].append(repeat)
    return [
        (_stretches if partly else _finding)(shapes, first, second, mine)
        for (first, second, partly), mine in sorted(by_layers.items(), key=lambda item: item[0])
    ]


def _finding(
    shapes: Sequence[Shape], first: str, second: str, repeats: Sequence[Repeat]
) -> Finding:
    ids, named = _named(shapes, repeats)
    if first == second:
        message = f"what lay on itself in layer {first} is marked once: {named}"
        return note("duplicates-dropped", message, elements=ids)
    operation = shapes[repeats[0].shape].operation
    message = (
        f"layer {second} would {operation} what layer {first} does already, "
        f"so it was dropped there: {named}"
    )
    remedy = f"if it belongs to layer {second}, take it out of layer {first} in the drawing"
    return warn("duplicates-in-two-layers", message, remedy, elements=ids)


def _stretches(
    shapes: Sequence[Shape], first: str, second: str, repeats: Sequence[Repeat]
) -> Finding:
    ids, named = _named(shapes, repeats)
    length = sum(repeat.length or 0.0 for repeat in repeats)
    if first == second:
        message = f"{length:.2f} mm of lines in layer {first} lay on others, marked once: {named}"
        return note("stretches-dropped", message, elements=ids)
    operation = shapes[repeats[0].shape].operation
    message = (
        f"layer {second} would {operation} {length:.2f} mm along lines of layer {first} once more, "
        f"so they were dropped there: {named}"
    )
    remedy = f"if they belong to layer {second}, take them out of layer {first} in the drawing"
    return warn("stretches-in-two-layers", message, remedy, elements=ids)


def _named(shapes: Sequence[Shape], repeats: Sequence[Repeat]) -> tuple[list[str], str]:
    """Ids of what was dropped, and the first few pairs in words."""
    pairs = list(dict.fromkeys((shapes[r.shape].id, shapes[r.on].id) for r in repeats))
    named = ", ".join(f"{dropped} on {kept}" for dropped, kept in pairs[:_SHOWN])
    more = f" and {len(pairs) - _SHOWN} more" if len(pairs) > _SHOWN else ""
    return list(dict.fromkeys(dropped for dropped, _ in pairs)), named + more
