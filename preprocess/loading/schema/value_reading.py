"""Values of a document read against a declared class: every complaint at once, with its place."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Any, TypeVar

from preprocess.loading.schema.plain_data import member_for, shape_of
from preprocess.loading.schema.type_words import (
    BOUNDS,
    bounds_text,
    example_of,
    limit_of,
    type_words,
    with_article,
)
from preprocess.loading.schema.value_complaints import ValueComplaints, nearest_word, shown_value
from preprocess.loading.schema.value_types import (
    ChoiceType,
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
from preprocess.model.declared import Declared
from preprocess.units import UnitError, typed_digits

if TYPE_CHECKING:
    from enum import StrEnum

    from preprocess.errors import Complaint
    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument

DeclaredT = TypeVar("DeclaredT", bound=Declared)

_WHOLE = object()


def read_declared(
    cls: type[DeclaredT], document: YamlDocument, path: KeyPath = (), data: Any = _WHOLE
) -> tuple[DeclaredT | None, tuple[Complaint, ...]]:
    """Check the values at a path of a document against a declared class.

    Args:
        cls: a frozen dataclass derived from `Declared`.
        document: the document.
        path: where in the document `data` stands.
        data: the values there; the whole document unless given.

    Returns:
        The value and no complaints, or None and all complaints.
    """
    reading = _Reading(document)
    value = reading.value(RecordType(cls), document.data if data is _WHOLE else data, path)
    return (None if reading.found else value), tuple(reading.found)


class _Reading(ValueComplaints):
    """Reads values of a document; what cannot be read becomes None and a complaint."""

    def value(self, of: ValueType, value: Any, path: KeyPath) -> Any:
        if isinstance(of, UnionType):
            of = member_for(of.members, value) or of
        if value is None:
            self.no_value(path)
        elif of is SimpleType.ANYTHING:
            self._expect_values(value, path)
            return value
        elif isinstance(of, UnionType) or not isinstance(value, _SHAPES[shape_of(of)]):
            self._refuse(value, path, _remedy(of))
        else:
            return self._fitting(of, value, path)
        return None

    def _expect_values(self, value: Any, path: KeyPath) -> None:
        inner = dict(enumerate(value)) if isinstance(value, list) else value
        for step, held in inner.items() if isinstance(inner, dict) else ():
            self.value(SimpleType.ANYTHING, held, (*path, step))

    def _fitting(self, of: ValueType, value: Any, path: KeyPath) -> Any:
        """Read a value whose shape fits its type."""
        match of:
            case RecordType(cls):
                return self._record(cls, value, path)
            case TableType():
                return self._table(of, value, path)
            case ListType() | TupleType():
                return self._list(of, value, path)
            case QuantityType():
                return self._quantity(of, value, path)
            case NumberType():
                return self._number(of, value, path)
            case ChoiceType(choices):
                return self._choice(choices, value, path)
        if not isinstance(value, bool if of is SimpleType.FLAG else str):
            self._refuse(value, path, _remedy(of, value))
        return value

    def _record(self, cls: type[Declared], value: dict[str, Any], path: KeyPath) -> Declared | None:
        before = len(self.found)
        known = {key.name: key for key in declared_keys(cls)}
        given: dict[str, Any] = {}
        for name, inner in value.items():
            if name in known:
                given[known[name].field] = self.value(known[name].type, inner, (*path, name))
            elif cls.free is not None and isinstance(inner, str | int | float):
                given.setdefault(cls.free, []).append((name, free_text(inner)))
            elif name in cls.retired:
                self.retired_key((*path, name))
            else:
                self.unknown_key((*path, name), known)
        for key in known.values():
            if key.required and key.name not in value:
                self.missing_key(path, key.name, example_of(key.type))
        if cls.free in given:
            given[cls.free] = tuple(sorted(given[cls.free]))
        return cls(**given) if len(self.found) == before else None

    def _table(self, of: TableType, value: dict[str, Any], path: KeyPath) -> dict[Any, Any]:
        choices = of.key.choices if isinstance(of.key, ChoiceType) else None
        found = {}
        for name, inner in value.items():
            if choices is None or name in list(choices):
                key = name if choices is None else choices(name)
                found[key] = self.value(of.value, inner, (*path, name))
            else:
                self.unknown_key((*path, name), choices)
        return found

    def _list(self, of: ListType | TupleType, value: list[Any], path: KeyPath) -> tuple[Any, ...]:
        count = f" holds {len(value)} value{'' if len(value) == 1 else 's'}"
        entries = of.entries if isinstance(of, TupleType) else (of.entry,) * len(value)
        if len(entries) != len(value):
            self.wrong_value(path, count, _remedy(of))
        elif isinstance(of, ListType) and len(value) < of.least:
            self.wrong_value(path, count, f"give at least {of.least}")
        pairs = enumerate(zip(entries, value, strict=False))
        return tuple(self.value(entry, inner, (*path, i)) for i, (entry, inner) in pairs)

    def _choice(self, choices: type[StrEnum], value: Any, path: KeyPath) -> StrEnum | None:
        if value in list(choices):
            return choices(value)
        self._refuse(value, path, nearest_word(value, choices, "write one of"))
        return None

    def _quantity(self, of: QuantityType, value: Any, path: KeyPath) -> float | None:
        try:
            number = of.quantity.parse(value)
        except UnitError as error:
            self.wrong_value(path, f": {error.found}", error.remedy)
            return None
        return self._bounded(of, number, path, value)

    def _number(self, of: NumberType, value: Any, path: KeyPath) -> float | None:
        fits = isinstance(value, int if of.whole else int | float) and not isinstance(value, bool)
        if not fits or not abs(value) <= sys.float_info.max:
            self._refuse(value, path, _remedy(of))
            return None
        return self._bounded(of, value if of.whole else float(value), path, value)

    def _bounded(
        self, of: QuantityType | NumberType, number: float, path: KeyPath, written: Any
    ) -> float:
        if not all(BOUNDS[type(bound)][1](number, limit_of(bound)) for bound in of.bounds):
            self.wrong_value(path, f" is {written}", f"it must be {bounds_text(of)}")
        return number

    def _refuse(self, value: Any, path: KeyPath, remedy: str) -> None:
        self.wrong_value(path, f" is {shown_value(value)}", remedy)


def free_text(value: str | float) -> str:
    """A value of a free key in one notation: "30 kHz", "on"."""
    if isinstance(value, bool):
        return "on" if value else "off"
    match = _MEASURE.match(str(value))
    if match is None:
        return str(value).strip()
    return f"{typed_digits(float(match[1]))} {match[2] or ''}".rstrip()


_MEASURE = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*([^\W\d]\S*|%)?\s*\Z")
"""A number, and the unit that may follow."""


_SHAPES: dict[type, type | tuple[type, ...]] = {dict: dict, list: list, str: (str, int, float)}


def _remedy(of: ValueType, value: Any = None) -> str:
    """Remedy for a value of another type."""
    match of:
        case RecordType(cls):
            return f"write a mapping with the keys {', '.join(k.name for k in declared_keys(cls))}"
        case TableType():
            return f"write a mapping such as {example_of(of)}"
        case ListType() | TupleType():
            return f"write a list such as {example_of(of)}"
        case QuantityType(quantity):
            return f"write for example {quantity.example}"
        case SimpleType.TEXT if value is not None:
            return f"put it in quotes: '{shown_value(value)}'"
    return f"write {with_article(type_words(of))}"
