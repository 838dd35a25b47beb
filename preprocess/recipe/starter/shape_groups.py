"""Groups of shapes in a drawing: by the editor's layer, else by colour."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.artwork.shape import Shape

GroupingKey = Literal["label", "colour"]

MOST_OUTPUTS = 6
"""Colours of the output that a first recipe may need: one less than there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeGroup:
    """Shapes that one rule chooses: how many areas and strokes, and the widths of the strokes.

    `operation` is what suits them; an engraved group may hold fine strokes that stay lines.
    """

    name: str
    value: str
    operation: Operation
    areas: int
    strokes: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouping:
    """Groups for a recipe to choose; `by` is None where neither layers nor colours part the shapes.

    `labels` and `colours` count the shapes that carry each; None stands for no label.
    """

    by: GroupingKey | None
    groups: tuple[ShapeGroup, ...]
    labels: tuple[tuple[str | None, int], ...]
    colours: tuple[tuple[str | None, int], ...]


def group_shapes(shapes: Sequence[Shape], hair: float) -> Grouping:
    """Group shapes by label where there are several, else by colour, unless there are too many.

    Args:
        shapes: as read without layers: areas are engraved, strokes scored.
        hair: strokes up to this width in mm stay lines.
    """
    labels, colours = _counted(shapes, "label"), _counted(shapes, "colour")
    tries: tuple[GroupingKey, ...] = ("label", "colour")
    for by in tries:
        groups = _groups(shapes, by, hair)
        enough = len(groups) > 1 or (by == "label" and len(groups) == 1 and _is_named(labels))
        if enough and _outputs(shapes, groups, by, hair) <= MOST_OUTPUTS:
            return Grouping(by=by, groups=groups, labels=labels, colours=colours)
    return Grouping(by=None, groups=(), labels=labels, colours=colours)


def _is_named(labels: Sequence[tuple[str | None, int]]) -> bool:
    """Test whether one label stands beside shapes that have none."""
    return any(label is None for label, _ in labels)


def _counted(shapes: Sequence[Shape], by: GroupingKey) -> tuple[tuple[str | None, int], ...]:
    return tuple(Counter(_value(shape, by) for shape in shapes).items())


def _value(shape: Shape, by: GroupingKey) -> str | None:
    source = shape.sources[0]
    return source.label if by == "label" else source.colour


def _groups(shapes: Sequence[Shape], by: GroupingKey, hair: float) -> tuple[ShapeGroup, ...]:
    names: dict[str, int] = {}
    found = []
    for value in dict.fromkeys(_value(shape, by) for shape in shapes):
        if not value:
            continue
        mine = [shape for shape in shapes if _value(shape, by) == value]
        strokes = tuple(sorted(s.stroke.width_mm for s in mine if s.stroke))
        areas = sum(shape.is_area for shape in mine)
        engraved = areas > 0 or any(width > hair for width in strokes)
        found.append(
            ShapeGroup(
                name=_fresh(value, names),
                value=value,
                operation=Operation.ENGRAVE if engraved else Operation.SCORE,
                areas=areas,
                strokes=strokes,
            )
        )
    return tuple(found)


def _outputs(
    shapes: Sequence[Shape], groups: Sequence[ShapeGroup], by: GroupingKey, hair: float
) -> int:
    """Colours that the output will need: engraved and scored are parted within each group."""
    known = {group.value for group in groups}
    pairs = set()
    for shape in shapes:
        value = _value(shape, by)
        fine = shape.stroke is not None and shape.stroke.width_mm <= hair
        pairs.add((value if value in known else None, fine))
    return len(pairs)


def _fresh(value: str, names: dict[str, int]) -> str:
    """A plain name for a layer that no other has, nor any level or operation of another."""
    plain = re.sub(r"[^a-z0-9]+", "-", value.lower()).strip("-")
    plain = re.sub(r"-(\d+|score|cut|guide|engrave)$", r"-\1x", plain) or "layer"
    if plain[0].isdigit():
        plain = f"colour-{plain}" if value.startswith("#") else f"layer-{plain}"
    elif value.startswith("#"):
        plain = f"colour-{plain}"
    names[plain] = names.get(plain, 0) + 1
    return plain if names[plain] == 1 else f"{plain}-no{names[plain]}"
