"""JSON Schema of the recipe with all passes at hand, so that editors can complete and check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.engine import registry
from preprocess.errors import UserError
from preprocess.loading.schema.json_schema import JsonSchemas
from preprocess.loading.schema.value_types import declared_keys
from preprocess.recipe.recipe_keys import Recipe

if TYPE_CHECKING:
    from preprocess.engine.contract import Params


def recipe_schema() -> tuple[dict[str, Any], tuple[UserError, ...]]:
    """The schema, and an error for each pass that had to be left out because it is broken."""
    found, broken = _loaded()
    schemas = JsonSchemas()
    steps = {name: schemas.reference(cls) for name, cls in found.items()}
    bare = [name for name, cls in found.items() if not _required(cls)]
    schemas.definition(Recipe)["properties"]["passes"]["items"] = _entry(steps, bare)
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schemas.reference(Recipe),
        "title": "evenmark recipe",
        "$defs": dict(sorted(schemas.definitions.items())),
    }
    return schema, broken


def _loaded() -> tuple[dict[str, type[Params]], tuple[UserError, ...]]:
    found: dict[str, type[Params]] = {}
    broken: list[UserError] = []
    for name in registry.pass_names():
        try:
            found[name] = registry.load_pass(name)
        except UserError as error:
            broken.append(error)
    return found, tuple(broken)


def _required(cls: type[Params]) -> list[str]:
    return [key.name for key in declared_keys(cls) if key.required]


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
