"""JSON Schema of declared classes, so that editors can complete and check."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from annotated_types import Ge, Gt, Le, Lt

from preprocess.loading.schema.plain_data import plain_value
from preprocess.loading.schema.type_words import bounds_text, default_text, example_of, limit_of
from preprocess.loading.schema.value_types import (
    Bound,
    ChoiceType,
    DeclaredKey,
    ListType,
    NumberType,
    QuantityType,
    RecordType,
    SimpleType,
    TableType,
    TupleType,
    UnionType,
    ValueType,
    declared_keys,
)
from preprocess.loading.yaml.yaml_document import parse_yaml

if TYPE_CHECKING:
    from preprocess.model.declared import Declared

Schema = dict[str, Any]

_NUMBER = r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?"
_NOT_ZERO = r"(?=\+?[0.]*[1-9])"
_FREE = ["string", "number", "boolean"]
_KEYWORDS = {Gt: "exclusiveMinimum", Ge: "minimum", Lt: "exclusiveMaximum", Le: "maximum"}


class JsonSchemas:
    """JSON Schemas (2020-12) of declared classes and of all that they hold, each defined once."""

    def __init__(self) -> None:
        self.definitions: dict[str, Schema] = {}
        self._names: dict[type[Declared], str] = {}

    def reference(self, cls: type[Declared]) -> Schema:
        """A reference to the definition of a class, which is added unless it is there."""
        if cls not in self._names:
            full = f"{cls.__module__}.{cls.__qualname__}"
            name = full if cls.__name__ in self.definitions else cls.__name__
            self._names[cls] = name
            schema: Schema = {"title": cls.__name__, "type": "object"}
            self.definitions[name] = schema
            keys = declared_keys(cls)
            required = [key.name for key in keys if key.required]
            schema["properties"] = {key.name: self._described(key) for key in keys}
            schema |= {"required": required} if required else {}
            schema["additionalProperties"] = {"type": _FREE} if cls.free else False
        return {"$ref": f"#/$defs/{self._names[cls]}"}

    def definition(self, cls: type[Declared]) -> Schema:
        """The definition of a class."""
        self.reference(cls)
        return self.definitions[self._names[cls]]

    def _described(self, key: DeclaredKey) -> Schema:
        default = "" if key.required else f" (default: {default_text(key)})"
        told: Schema = {"description": f"{key.doc}{default}", **self._schema(key.type)}
        if not key.required and key.default is not None:
            told["default"] = _as_json(plain_value(key.type, key.default))
        told.setdefault("examples", [example_data(key.type)])
        return told

    def _schema(self, of: ValueType) -> Schema:
        match of:
            case RecordType(cls):
                return self.reference(cls)
            case ListType(entry, least):
                return {"type": "array", "items": self._schema(entry), "minItems": least}
            case TupleType(entries):
                count = {"minItems": len(entries), "maxItems": len(entries)}
                return {"type": "array", "prefixItems": [*map(self._schema, entries)], **count}
            case TableType(ChoiceType(choices), value):
                named = {str(choice.value): self._schema(value) for choice in choices}
                return {"type": "object", "properties": named, "additionalProperties": False}
            case TableType(key, value):
                inner = {"additionalProperties": self._schema(value)}
                return {"type": "object", "propertyNames": self._schema(key), **inner}
            case UnionType(members):
                return {"oneOf": [*map(self._schema, members)]}
        return _single(of)


def _number(bounds: tuple[Bound, ...]) -> str:
    """Pattern of a number; without a sign, or without zero, where bounds say so."""
    least = [bound for bound in bounds if isinstance(bound, Gt | Ge) and limit_of(bound) >= 0]
    if not least:
        return _NUMBER
    positive = any(isinstance(bound, Gt) for bound in least)
    return (_NOT_ZERO if positive else "") + _NUMBER.replace("[+-]?", r"\+?", 1)


def example_data(of: ValueType) -> Any:
    """An example of a type, as the data that its YAML holds."""
    if isinstance(of, NumberType) and of.bounds:
        return max([1, *(limit_of(bound) for bound in of.bounds if isinstance(bound, Ge))])
    return parse_yaml(f"example: {example_of(of)}", "example").data["example"]


def _as_json(value: Any) -> Any:
    """Plain data with lists in place of tuples."""
    if isinstance(value, dict):
        return {key: _as_json(held) for key, held in value.items()}
    return [*map(_as_json, value)] if isinstance(value, list | tuple) else value


def _single(of: ValueType) -> Schema:
    match of:
        case QuantityType(quantity):
            units = "|".join(map(re.escape, [*quantity.units, *(quantity.inverse or ())]))
            return {
                "title": ", ".join(filter(None, (quantity.name, bounds_text(of)))),
                "type": "string",
                "pattern": rf"^\s*{_number(of.bounds)}\s*({units})\s*$",
                "examples": [quantity.example],
            }
        case NumberType(whole, bounds):
            limits = {_KEYWORDS[type(bound)]: limit_of(bound) for bound in bounds}
            return {"type": "integer" if whole else "number", **limits}
        case ChoiceType(choices):
            return {"enum": [choice.value for choice in choices]}
        case SimpleType.TEXT:
            return {"type": "string"}
        case SimpleType.FLAG:
            return {"type": "boolean"}
    return {}
