"""A first recipe for one drawing, commented with what was measured on it."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import TYPE_CHECKING

from jinja2 import Environment, StrictUndefined

from preprocess.geometry.rows.rounds import usual_rounds
from preprocess.model.artwork.settings import Operation
from preprocess.recipe.starter.drawing_measures import FIRST_PITCH, HAIRLINE, NARROW_TIP
from preprocess.write.svg.layer_colours import COLOURS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.recipe.starter.drawing_measures import DrawingMeasures
    from preprocess.recipe.starter.shape_groups import ShapeGroup

_LISTED = 6
_ROUNDS = usual_rounds(FIRST_PITCH)
_COLUMN = 58
_LONGEST = 80


def first_recipe(found: DrawingMeasures, design: str | None, title: str) -> str:
    """The text of a recipe that runs on the drawing.

    Args:
        found: what was measured.
        design: the drawing's path as seen from the recipe; None when it came through a pipe.
        title: what to call the drawing.
    """
    template = files(__package__) / "templates" / "first-recipe.yaml"
    return (
        _environment()
        .from_string(template.read_text("utf-8"))
        .render(
            found=found,
            design=design,
            title=title,
            pitch=FIRST_PITCH,
            hairline=HAIRLINE,
            tip=NARROW_TIP,
            wide=sum(width > HAIRLINE for width in found.strokes),
            colours=_colours(found),
            narrow=[100 * area / (found.area or 1.0) for area in found.narrow.values()],
        )
    )


def _colours(found: DrawingMeasures) -> int:
    """How many colours the rounds of each engraved layer may have, beside all others."""
    groups = found.grouping.groups
    engraved = sum(group.operation is Operation.ENGRAVE for group in groups) or 1
    fine = [any(width <= HAIRLINE for width in group.strokes) for group in groups]
    lines = sum(fine) if groups else int(any(width <= HAIRLINE for width in found.strokes))
    return max(1, min(_ROUNDS, (len(COLOURS) - lines) // engraved))


def _environment() -> Environment:
    environment = Environment(
        autoescape=False,  # noqa: S701 - it is YAML, and `quoted` and `plain` escape it
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    for use in (_figure, _between, _counts, _choice, _listed, _many, _plain, _quoted, _padded):
        environment.filters[use.__name__.lstrip("_")] = use
    return environment


def _figure(value: float, digits: int = 3) -> str:
    return f"{value:.{digits}g}"


def _between(values: Sequence[float]) -> str:
    low, high = _figure(min(values)), _figure(max(values))
    return low if low == high else f"{low} to {high}"


def _counts(group: ShapeGroup) -> str:
    parts = [_many(group.areas, "area")] if group.areas else []
    if group.strokes:
        strokes = _many(len(group.strokes), "stroke")
        parts.append(f"{strokes}, {_between(group.strokes)} mm wide")
    return "; ".join(parts)


def _choice(group: ShapeGroup) -> str:
    """The keys of the group's selection, as YAML."""
    keys = (("label", group.choose.label), ("colour", group.choose.colour))
    return ", ".join(f"{key}: {_quoted(value)}" for key, value in keys if value is not None)


def _listed(counts: Sequence[tuple[str | None, int]]) -> str:
    shown = [f"{_plain(value) if value else 'none'} ({n})" for value, n in counts[:_LISTED]]
    more = len(counts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "") or "none"


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _plain(text: str) -> str:
    """Text that may stand in a comment: on one line, without what YAML does not allow."""
    return "".join(c if c.isprintable() else " " for c in text)[:_LONGEST]


def _quoted(text: str) -> str:
    """A YAML string in double quotes."""
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in quoted)


def _padded(text: str) -> str:
    """Text filled up to the column of the comments."""
    return text.ljust(_COLUMN)
