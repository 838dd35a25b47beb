"""JSON Schema of the recipe with its passes, so that editors can complete and check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.engine import registry
from preprocess.loading.schema.json_schema import JsonSchemas
from preprocess.loading.schema.value_types import declared_keys
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.part import Part
from preprocess.recipe.recipe_keys import RECIPE_FORMAT, Recipe
from preprocess.recipe.reference.schema_examples import add_examples

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.engine.contract import Params


_VERSIONED = ("Recipe", "Machine", "Filament")
"""Mappings that name the version of their format under their own name."""


def recipe_schema(more: Sequence[str] = ()) -> dict[str, Any]:
    """The schema with the built-in passes; no code of other packages runs unless it is named.

    Args:
        more: names of passes of other packages, which are imported.

    Raises:
        UserError: there is no such pass, or its package is broken.
    """
    names = sorted({*registry.built_in_names(), *more})
    found = {name: registry.load_pass(name) for name in names}
    schemas = JsonSchemas()
    steps = {name: schemas.reference(cls) for name, cls in found.items()}
    bare = [name for name, cls in found.items() if not _required(cls)]
    schemas.definition(Recipe)["properties"]["passes"]["items"] = _entry(steps, bare)
    add_examples(schemas.definitions)
    schemas.definition(Recipe)["allOf"] = [_closed_settings(schemas.definition(Settings))]
    schemas.definition(Part)["oneOf"] = [{"required": ["outline"]}, {"required": ["model"]}]
    for name in _VERSIONED:
        schemas.definitions[name]["properties"][name.lower()]["const"] = RECIPE_FORMAT
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schemas.reference(Recipe),
        "title": "evenmark recipe",
        "$defs": dict(sorted(schemas.definitions.items())),
    }


def _closed_settings(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings have no further keys, unless a machine, or a recipe below, may bring them."""
    closed = {"propertyNames": {"enum": [*settings["properties"]]}}
    operations = {"additionalProperties": closed}
    layers = {"items": {"properties": {"settings": closed}}}
    brings = [{"type": "string"}, {"required": ["extra_settings"]}]
    machine = {"required": ["machine"], "properties": {"machine": {"anyOf": brings}}}
    return {
        "if": {"not": {"anyOf": [machine, {"required": ["extends"]}]}},
        "then": {"properties": {"settings": operations, "layers": layers}},
    }


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
