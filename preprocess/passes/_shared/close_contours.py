"""Open contours: closed into rings, and filled where they are to be engraved."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.findings import Finding, counted, listed, note, warn
from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.lines.close_gaps import close_rings
from preprocess.geometry.overlay.even_odd import union_of_outlines
from preprocess.model.artwork.artwork import exchange_shapes
from preprocess.model.artwork.settings import Operation
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from preprocess.arrays import Geometries, Indices
    from preprocess.geometry.lines.close_gaps import ClosedRing
    from preprocess.model.artwork.artwork import Exchange
    from preprocess.model.artwork.shape import Shape


class Closed(NamedTuple):
    """All shapes with their contours closed, and the findings."""

    shapes: list[Shape]
    findings: list[Finding]


class _Lines(NamedTuple):
    """Lines of shapes that are marked alike: each line, and which shape it belongs to."""

    shapes: Sequence[Shape]
    parts: Geometries
    owner: Indices

    def of(self, ring: ClosedRing) -> list[int]:
        """The shapes that a ring is made of, by number, the one where it begins first."""
        return list(dict.fromkeys(int(self.owner[line]) for line in ring.lines))

    def ids(self, numbers: Iterable[int]) -> list[str]:
        """Ids of some of the shapes, in order."""
        return [self.shapes[number].id for number in sorted(set(numbers))]


def close_contours(
    shapes: Sequence[Shape], wanted: Callable[[Shape], bool], within: float
) -> Closed:
    """Join the ends of chosen lines that lie within a distance (mm), where that makes rings.

    Lines are joined to lines of the same layer and operation. Rings to engrave become areas, those
    inside others holes; lines to score or cut stay lines.
    """
    groups: dict[tuple[str, Operation], list[Shape]] = defaultdict(list)
    for shape in shapes:
        if not shape.is_area and shape.operation is not Operation.GUIDE and wanted(shape):
            groups[shape.layer, shape.operation].append(shape)
    exchanges: list[Exchange] = []
    findings: list[Finding] = []
    taken = [shape.id for shape in shapes]
    for (_, operation), mine in groups.items():
        lines = _Lines(mine, *shapely.get_parts([s.geometry for s in mine], return_index=True))
        fill = operation is Operation.ENGRAVE
        found = [ring for ring in close_rings(lines.parts, within) if fill or ring.gap > 0]
        made = _areas(lines, found) if fill else _rings(lines, found)
        exchanges += [(old, _named_apart(new, taken)) for old, new in zip(mine, made, strict=True)]
        findings += _told(lines, found, within, fill=fill)
    return Closed(exchange_shapes(shapes, exchanges), findings)


def _named_apart(shapes: Sequence[Shape], taken: Sequence[str]) -> Sequence[Shape]:
    """Shapes that were made of one, with numbered ids where they are several."""
    if len(shapes) == 1:
        return shapes
    names = unique_ids([shape.id for shape in shapes], taken)
    return [replace(shape, id=name) for shape, name in zip(shapes, names, strict=True)]


def _areas(lines: _Lines, found: Sequence[ClosedRing]) -> list[list[Shape]]:
    """For each shape the areas that begin in it and what is left of its lines."""
    made: list[list[Shape]] = [[] for _ in lines.shapes]
    outlines = [shapely.linearrings(ring.points) for ring in found]
    for part in union_of_outlines([ring.points for ring in found]).geoms if found else ():
        on = np.flatnonzero(shapely.intersects(part, outlines))
        numbers = sorted({number for i in on.tolist() for number in lines.of(found[i])})
        first = lines.shapes[numbers[0]]
        area = replace(_with_sources(first, lines, numbers), geometry=shapely.multipolygons([part]))
        made[numbers[0]].append(replace(area, stroke=None))
    kept = _kept(lines, found)
    return [
        [*areas, *_left(shape, kept[number])]
        for number, (shape, areas) in enumerate(zip(lines.shapes, made, strict=True))
    ]


def _rings(lines: _Lines, found: Sequence[ClosedRing]) -> list[list[Shape]]:
    """Each shape with the rings that begin in it and what is left of its lines."""
    kept = _kept(lines, found)
    owners: list[set[int]] = [{number} for number in range(len(lines.shapes))]
    for ring in found:
        first, *others = lines.of(ring)
        kept[first][ring.lines[0]] = shapely.linestrings(np.vstack((ring.points, ring.points[:1])))
        owners[first].update(others)
    return [
        _left(_with_sources(shape, lines, sorted(owners[number])), kept[number])
        if len(owners[number]) > 1 or len(kept[number]) < len(shape.geometry.geoms)
        else _left(shape, kept[number])
        for number, shape in enumerate(lines.shapes)
    ]


def _kept(lines: _Lines, found: Sequence[ClosedRing]) -> list[dict[int, shapely.LineString]]:
    """For each shape its lines, by number, that are in no ring."""
    used = {line for ring in found for line in ring.lines}
    kept: list[dict[int, shapely.LineString]] = [{} for _ in lines.shapes]
    for line, (part, owner) in enumerate(zip(lines.parts, lines.owner, strict=True)):
        if line not in used:
            kept[owner][line] = part
    return kept


def _left(shape: Shape, kept: dict[int, shapely.LineString]) -> list[Shape]:
    """The shape with these lines; the very same where they are what it had."""
    lines = [kept[line] for line in sorted(kept)]
    same = len(lines) == len(shape.geometry.geoms) and all(
        one.equals_exact(other) for one, other in zip(lines, shape.geometry.geoms, strict=True)
    )
    if same:
        return [shape]
    return [replace(shape, geometry=as_lines(lines))] if lines else []


def _with_sources(shape: Shape, lines: _Lines, numbers: Iterable[int]) -> Shape:
    sources = (source for number in numbers for source in lines.shapes[number].sources)
    return replace(shape, sources=tuple(dict.fromkeys(sources)))


def _told(
    lines: _Lines, found: Sequence[ClosedRing], within: float, *, fill: bool
) -> Iterator[Finding]:
    layer = lines.shapes[0].layer
    if found:
        ids = lines.ids(number for ring in found for number in lines.of(ring))
        gap = max(ring.gap for ring in found)
        message = (
            f"{counted(len(found), 'contour')} of {layer} closed over gaps of up to "
            f"{digits(gap, 2)} mm"
            f"{' and filled' if fill else ''}: {listed(ids)}"
        )
        remedy = "if a line is meant to stay open, exclude it with except"
        yield note("contours-closed", message, remedy, elements=ids, layer=layer)
    used = {line for ring in found for line in ring.lines}
    left = [line for line in range(len(lines.parts)) if line not in used]
    if left and fill:
        ids = lines.ids(int(lines.owner[line]) for line in left)
        message = (
            f"{counted(len(left), 'line')} of {layer} to engrave stayed open: no end within "
            f"{digits(within)} mm: {listed(ids)}"
        )
        remedy = "raise close, join them in the drawing, or put strokes-to-areas among the passes"
        yield warn("contours-left-open", message, remedy, elements=ids, layer=layer)
