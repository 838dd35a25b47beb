"""JSON Schema of the recipe with all passes at hand, so that editors can complete and check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.engine import registry
from preprocess.errors import UserError
from preprocess.loading.schema.declared import json_schemas
from preprocess.loading.schema.kinds import keys_of
from preprocess.recipe.schema import Recipe

if TYPE_CHECKING:
    from preprocess.engine.contract import Params


def recipe_schema() -> tuple[dict[str, Any], tuple[UserError, ...]]:
    """The schema, and an error for each pass that had to be left out because it is broken."""
    found, broken = _loaded()
    held, definitions = json_schemas([Recipe, *found.values()])
    steps = {name: held[cls] for name, cls in found.items()}
    recipe = definitions[_last(held[Recipe])]
    bare = [name for name, cls in found.items() if not any(key.required for key in keys_of(cls))]
    recipe["properties"]["passes"]["items"] = _entry(steps, bare)
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **held[Recipe],
        "title": "evenmark recipe",
        "$defs": definitions,
    }
    return schema, broken


def _loaded() -> tuple[dict[str, type[Params]], tuple[UserError, ...]]:
    found: dict[str, type[Params]] = {}
    broken: list[UserError] = []
    for name in registry.names():
        try:
            found[name] = registry.load(name)
        except UserError as error:
            broken.append(error)
    return found, tuple(broken)


def _entry(steps: dict[str, dict[str, str]], bare: list[str]) -> dict[str, Any]:
    """One entry of `passes:`: a bare name, or one name with its parameters."""
    with_parameters = {
        "type": "object",
        "properties": steps,
        "additionalProperties": False,
        "minProperties": 1,
        "maxProperties": 1,
    }
    return {"anyOf": [{"enum": bare}, with_parameters]}


def _last(reference: dict[str, str]) -> str:
    return reference["$ref"].rpartition("/")[2]
