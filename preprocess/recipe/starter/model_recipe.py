"""A first recipe for a part that is known by its model, with a drawing to draw on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib.resources import files

from jinja2 import Environment, StrictUndefined


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelStart:
    """What a first recipe says: files as seen from it, and keys of the part that were given.

    `guides`, `outline` and `drawing` are ids in the drawing.
    """

    design: str
    model: str
    machine: str | None
    keys: tuple[tuple[str, str], ...]
    guides: str
    outline: str
    drawing: str


def model_recipe(start: ModelStart) -> str:
    """The text of a recipe that loads, and runs once something is drawn."""
    template = files(__package__) / "templates" / "model-recipe.yaml"
    environment = Environment(
        autoescape=False,  # noqa: S701 - it is YAML, and `quoted` escapes it
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["quoted"] = lambda text: json.dumps(text, ensure_ascii=False)
    return environment.from_string(template.read_text("utf-8")).render(start=start)
