"""Groups of shapes in a drawing: by the editor's layer and paint, else by colour."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from itertools import takewhile
from math import fsum
from typing import TYPE_CHECKING

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.geometry.overlay.booleans import union
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Shape

MOST_OUTPUTS = 6
"""Colours of the output that a first recipe may need: one less than there are."""

_TWICE = 0.01
"""Overlap in mm² below which two areas count as apart."""

_Keys = list[tuple[str | None, str | None]]
"""Label and colour of each shape; None where they do not count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeGroup:
    """Shapes that one rule chooses: how many areas and strokes, and the widths of the strokes.

    `operation` is what suits them; an engraved group may hold fine strokes that stay lines.
    """

    name: str
    choose: Selection
    operation: Operation
    areas: int
    strokes: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouping:
    """Groups for a recipe to choose; none where neither layers nor colours part the shapes.

    `labels` and `colours` count the shapes that carry each; None stands for no label.
    """

    groups: tuple[ShapeGroup, ...]
    labels: tuple[tuple[str | None, int], ...]
    colours: tuple[tuple[str | None, int], ...]

    @property
    def by_label(self) -> bool:
        """True if rules choose by labels, of one colour or any."""
        return any(group.choose.label is not None for group in self.groups)


def group_shapes(
    shapes: Sequence[Shape], hair: float, unmarked: frozenset[str] = frozenset()
) -> Grouping:
    """Group shapes by label and colour, else by label, else by colour, unless there are too many.

    Labels and colours whose engraved areas overlap stay together, since two layers would mark them
    twice.

    A label is that of the editor layer. In a drawing without such layers it is the outermost of
    the groups below what holds all shapes.

    Args:
        shapes: as read without layers: areas are engraved, strokes scored.
        hair: strokes up to this width in mm stay lines.
        unmarked: ids of shapes that are not to be marked; a group of these alone is a guide.
    """
    labels, colours = _labels(shapes), [shape.sources[0].colour for shape in shapes]
    no_colour: list[None] = [None] * len(shapes)
    tries: list[_Keys] = [
        _by_paint(shapes, labels, hair),
        list(zip(labels, no_colour, strict=True)),
        _by_paint(shapes, no_colour, hair),
    ]
    for keys in tries:
        chosen = len(_known(keys))
        enough = chosen > 1 or (chosen == 1 and None in labels and any(labels))
        few = enough and _outputs(shapes, keys, hair) <= MOST_OUTPUTS
        if few and not _overlap(_parted(shapes, keys), hair):
            return Grouping(
                groups=_groups(shapes, keys, hair, unmarked),
                labels=_counted(labels),
                colours=_counted(colours),
            )
    return Grouping(groups=(), labels=_counted(labels), colours=_counted(colours))


def _labels(shapes: Sequence[Shape]) -> list[str | None]:
    layers = [shape.sources[0].layer for shape in shapes]
    if any(layers):
        return layers
    sources = [shape.sources[0] for shape in shapes]
    names = [(*one.around, *([one.label] if one.label else [])) for one in sources]
    levels = zip(*(path for path in names if path), strict=False)
    common = sum(1 for _ in takewhile(lambda level: len(set(level)) == 1, levels))
    return [path[min(common, len(path) - 1)] if path else None for path in names]


def _by_paint(shapes: Sequence[Shape], labels: Sequence[str | None], hair: float) -> _Keys:
    """Labels with colours, where shapes of one label have several that lie apart."""
    found: dict[str | None, dict[str | None, list[Shape]]] = {}
    for shape, label in zip(shapes, labels, strict=True):
        found.setdefault(label, {}).setdefault(shape.sources[0].colour, []).append(shape)
    parted = {
        label
        for label, paints in found.items()
        if 1 < len(paints) <= MOST_OUTPUTS and not _overlap([*paints.values()], hair)
    }
    return [
        (label, shape.sources[0].colour if label in parted else None)
        for shape, label in zip(shapes, labels, strict=True)
    ]


def _parted(shapes: Sequence[Shape], keys: _Keys) -> list[list[Shape]]:
    found: dict[tuple[str | None, str | None], list[Shape]] = {}
    for shape, key in zip(shapes, keys, strict=True):
        found.setdefault(key, []).append(shape)
    return [*found.values()]


def _overlap(groups: Sequence[Sequence[Shape]], hair: float) -> bool:
    areas = [engraved_area(group, hair) for group in groups]
    return fsum(area.area for area in areas) - union(areas).area > _TWICE


def engraved_area(shapes: Sequence[Shape], hair: float) -> MultiPolygon:
    """Area of all areas, and of strokes wider than `hair` (mm), which become areas."""
    areas = [shape.geometry for shape in shapes if shape.is_area]
    wide = [s for s in shapes if s.stroke is not None and s.stroke.width_mm > hair]
    areas += [outline_stroke(s.geometry, s.stroke) for s in wide if s.stroke is not None]
    return union(areas) if areas else NOTHING


def _counted(values: Sequence[str | None]) -> tuple[tuple[str | None, int], ...]:
    return tuple(Counter(values).items())


def _known(keys: _Keys) -> _Keys:
    """The different keys by which shapes can be chosen, in order."""
    return [key for key in dict.fromkeys(keys) if any(key)]


def _groups(
    shapes: Sequence[Shape], keys: _Keys, hair: float, unmarked: frozenset[str]
) -> tuple[ShapeGroup, ...]:
    names: dict[str, int] = {}
    found = []
    for label, colour in _known(keys):
        mine = [s for s, key in zip(shapes, keys, strict=True) if key == (label, colour)]
        found.append(
            ShapeGroup(
                name=_fresh(label, colour, names),
                choose=Selection(label=label, colour=colour),
                operation=_operation(mine, hair, unmarked),
                areas=sum(shape.is_area for shape in mine),
                strokes=tuple(sorted(s.stroke.width_mm for s in mine if s.stroke)),
            )
        )
    return tuple(found)


def _operation(shapes: Sequence[Shape], hair: float, unmarked: frozenset[str]) -> Operation:
    if all(shape.id in unmarked for shape in shapes):
        return Operation.GUIDE
    engraved = any(s.is_area or (s.stroke is not None and s.stroke.width_mm > hair) for s in shapes)
    return Operation.ENGRAVE if engraved else Operation.SCORE


def _outputs(shapes: Sequence[Shape], keys: _Keys, hair: float) -> int:
    """Colours that the output will need: engraved and scored are parted within each group."""
    fine = [shape.stroke is not None and shape.stroke.width_mm <= hair for shape in shapes]
    return len(set(zip(keys, fine, strict=True)))


def _fresh(label: str | None, colour: str | None, names: dict[str, int]) -> str:
    """A plain name for a layer that no other has, nor any level or operation of another."""
    plain = re.sub(r"[^a-z0-9]+", "-", (label or "").lower()).strip("-")
    plain = re.sub(r"-(\d+|score|cut|guide|engrave)$", r"-\1x", plain)
    if plain[:1].isdigit():
        plain = f"layer-{plain}"
    if colour is not None:
        plain = f"{plain}-colour{colour[1:]}" if label else f"colour-{colour[1:]}"
        plain = plain.lstrip("-")
    plain = plain or "layer"
    names[plain] = names.get(plain, 0) + 1
    return plain if names[plain] == 1 else f"{plain}-no{names[plain]}"
