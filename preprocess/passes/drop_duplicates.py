"""drop-duplicates: removes shapes and lines that lie on others."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar, NamedTuple

import numpy as np
import shapely
from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selection_test
from preprocess.findings import Finding, listed, note, warn
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.lines.collinear import remove_collinear
from preprocess.geometry.lines.duplicates import first_duplicates
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import LineString

    from preprocess.model.artwork.artwork import Artwork, Exchange
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_MARKED = (Operation.ENGRAVE, Operation.SCORE, Operation.CUT)


class _Repeat(NamedTuple):
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

    Direction and start of a ring do not matter. Coincident areas and lines have the same operation,
    in one layer or in several. A shape that repeats others in part loses the repeated areas or
    lines. A line that runs along others, or back over itself, loses those stretches. Stretches
    below twenty times `within` or 0.05 mm stay: most are crossings. Of strokes that may yet become
    areas the widest stays.
    """

    name: ClassVar = "drop-duplicates"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}))

    within: Annotated[Length, Ge(0), Doc("how far apart two outlines may lie and still be one")] = (
        0.01
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Remove what repeats an earlier mark; guides are not marked and stay."""
        wanted = selection_test(artwork, self)
        groups: dict[tuple[Operation, bool], list[int]] = defaultdict(list)
        for number, shape in enumerate(artwork.shapes):
            if shape.operation in _MARKED and wanted(shape):
                groups[shape.operation, shape.is_area].append(number)
        ranked = [_widest_first(artwork, mine) for mine in groups.values()]
        repeats = [r for mine in ranked for r in self._repeats(artwork.shapes, mine)]
        left = _without(artwork.shapes, repeats)
        return Outcome(
            artwork=artwork.exchanged(left),
            findings=tuple(_findings(artwork.shapes, repeats)),
            changes=entries_of(left, "duplicates dropped"),
        )

    def _repeats(self, shapes: Sequence[Shape], mine: Sequence[int]) -> list[_Repeat]:
        """Parts of shapes that lie on an earlier part."""
        geometries = np.array([shapes[number].geometry for number in mine], dtype=object)
        parts, owner = shapely.get_parts(geometries, return_index=True)
        own = np.arange(len(parts)) - np.searchsorted(owner, owner)
        first = first_duplicates(parts, self.within)
        again = first != np.arange(len(parts))
        repeats = [
            _Repeat(mine[owner[i]], int(own[i]), mine[owner[first[i]]])
            for i in np.flatnonzero(again)
        ]
        kept = np.flatnonzero(~again)
        if len(kept) and not shapes[mine[0]].is_area:
            for number, left in remove_collinear(parts[kept], self.within).items():
                i, length = kept[number], sum(left.along.values())
                on = mine[owner[kept[max(left.along, key=lambda n: (left.along[n], -n))]]]
                repeats.append(_Repeat(mine[owner[i]], int(own[i]), on, left.lines, length))
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
    """Width in mm of a stroke that no layer scores or cuts; 0 for anything else."""
    chosen_to_trace = artwork.layer(shape.layer).operation not in {None, Operation.ENGRAVE}
    if shape.is_area or shape.stroke is None or chosen_to_trace:
        return 0.0
    return shape.stroke.width_mm


def _without(shapes: Sequence[Shape], repeats: Sequence[_Repeat]) -> list[Exchange]:
    """Each shape that repeats something, with what is left of it."""
    dropped: dict[int, dict[int, tuple[LineString, ...]]] = defaultdict(dict)
    for repeat in repeats:
        dropped[repeat.shape][repeat.part] = repeat.rest
    left: list[Exchange] = []
    for number in sorted(dropped):
        shape, gone = shapes[number], dropped[number]
        kept = [
            part for i, whole in enumerate(shape.geometry.geoms) for part in gone.get(i, (whole,))
        ]
        rest = as_area(kept) if shape.is_area else as_lines(kept)
        left.append((shape, (replace(shape, geometry=rest),) if kept else ()))
    return left


def _findings(shapes: Sequence[Shape], repeats: Sequence[_Repeat]) -> Iterator[Finding]:
    by_layers: dict[tuple[str, str, bool], list[_Repeat]] = defaultdict(list)
    for repeat in repeats:
        layers = shapes[repeat.on].layer, shapes[repeat.shape].layer
        by_layers[*layers, repeat.length is not None].append(repeat)
    for (first, second, partly), mine in sorted(by_layers.items(), key=lambda item: item[0]):
        pairs = list(dict.fromkeys((shapes[r.shape].id, shapes[r.on].id) for r in mine))
        ids = list(dict.fromkeys(dropped for dropped, _ in pairs))
        named = listed([f"{dropped} on {kept}" for dropped, kept in pairs])
        length = f"{sum(repeat.length or 0.0 for repeat in mine):.2f} mm"
        if first == second:
            if partly:
                message = f"removed {length} of repeated lines in layer {first}: {named}"
                yield note("stretches-dropped", message, elements=ids)
            else:
                message = f"removed duplicate shapes in layer {first}: {named}"
                yield note("duplicates-dropped", message, elements=ids)
            continue
        twice = f"layer {second} would {shapes[mine[0].shape].operation}"
        remedy = f"to keep them in layer {second}, take them out of layer {first} in the drawing"
        if partly:
            message = f"{twice} {length} along lines of layer {first} again, now removed: {named}"
            yield warn("stretches-in-two-layers", message, remedy, elements=ids)
        else:
            message = f"{twice} shapes of layer {first} again, now removed: {named}"
            yield warn("duplicates-in-two-layers", message, remedy, elements=ids)
