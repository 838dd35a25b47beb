"""JSON Schema of single values, so that editors can help with a recipe."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from annotated_types import Ge, Gt, Le
from pydantic import WithJsonSchema

from preprocess.loading.schema.kinds import Anything, Choice, Flag, Kind, Measure, Number
from preprocess.loading.schema.wording import bounds_of

if TYPE_CHECKING:
    from preprocess.units import Quantity

_NUMBER = r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?"


def leaf_schema(kind: Kind) -> WithJsonSchema:
    """What a single value may look like; bounds of quantities are told in words."""
    match kind:
        case Measure(quantity):
            return WithJsonSchema(_quantity(quantity, bounds_of(kind)))
        case Number(whole, bounds):
            schema: dict[str, Any] = {"type": "integer" if whole else "number"}
            names = {Gt: ("exclusiveMinimum", "gt"), Ge: ("minimum", "ge"), Le: ("maximum", "le")}
            for bound in bounds:
                key, attribute = names.get(type(bound), ("exclusiveMaximum", "lt"))
                schema[key] = getattr(bound, attribute)
            return WithJsonSchema(schema)
        case Choice(choices):
            return WithJsonSchema({"enum": [str(choice) for choice in choices]})
        case Flag():
            return WithJsonSchema({"type": "boolean"})
        case Anything():
            return WithJsonSchema({})
    return WithJsonSchema({"type": "string"})


def _quantity(quantity: Quantity, bounds: str) -> dict[str, Any]:
    units = "|".join(re.escape(unit) for unit in [*quantity.units, *(quantity.inverse or ())])
    said = f"{quantity.name}, {bounds}" if bounds else quantity.name
    return {
        "type": "string",
        "pattern": rf"^\s*{_NUMBER}\s*({units})\s*$",
        "examples": [quantity.example],
        "title": said,
    }
