"""Types that declared parameters can have, read from the type hints of their class."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from enum import StrEnum
from functools import cache
from itertools import chain
from typing import Annotated, Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from annotated_types import Ge, GroupedMetadata, Gt, Le, Lt, MinLen

from preprocess.model.declared import Declared, Doc
from preprocess.units import Quantity

Maker = TypeVar("Maker", bound=Callable[..., Any])

Bound = Gt | Ge | Lt | Le


class SimpleType(StrEnum):
    """Types that say all by their name, as one reads it."""

    TEXT = "text"
    FLAG = "true or false"
    ANYTHING = "anything"


@dataclass(frozen=True, slots=True)
class QuantityType:
    """A quantity with its unit, within bounds given in the base unit."""

    quantity: Quantity
    bounds: tuple[Bound, ...] = ()


@dataclass(frozen=True, slots=True)
class NumberType:
    """A number without unit, whole or not, within bounds."""

    whole: bool
    bounds: tuple[Bound, ...] = ()


@dataclass(frozen=True, slots=True)
class ChoiceType:
    """One of a few words."""

    choices: type[StrEnum]


@dataclass(frozen=True, slots=True)
class RecordType:
    """A mapping with declared keys."""

    cls: type[Declared]


@dataclass(frozen=True, slots=True)
class ListType:
    """A list of one type of entries, `least` or more."""

    entry: ValueType
    least: int = 0


@dataclass(frozen=True, slots=True)
class TupleType:
    """A list with one value of each type."""

    entries: tuple[ValueType, ...]


@dataclass(frozen=True, slots=True)
class TableType:
    """A mapping from texts, or from a few words, to values of one type."""

    key: ValueType
    value: ValueType


@dataclass(frozen=True, slots=True)
class UnionType:
    """One of several types, told apart by shape: mapping, list or single value."""

    members: tuple[ValueType, ...]


SingleType = SimpleType | QuantityType | NumberType | ChoiceType
ValueType = SingleType | RecordType | ListType | TupleType | TableType | UnionType


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredKey:
    """One declared parameter: its key in YAML, its field, what it takes, what it means."""

    name: str
    field: str
    type: ValueType
    doc: str
    required: bool
    default: Any = None


def _once_per_class(make: Maker) -> Maker:
    return cast("Maker", cache(make))


@_once_per_class
def declared_keys(cls: type[Declared]) -> tuple[DeclaredKey, ...]:
    """The declared parameters of a class, in order.

    Raises:
        TypeError: a parameter has a type that no YAML value can be checked against.
    """
    try:
        hints = get_type_hints(cls, include_extras=True)
    except NameError as error:
        raise TypeError(
            f"{cls.__name__}: types of parameters must be imported at run time ({error})"
        ) from error
    return tuple(
        DeclaredKey(
            name=field.name.rstrip("_"),
            field=field.name,
            type=value_type(hints[field.name]),
            doc=next((m.text for m in _metadata(hints[field.name]) if isinstance(m, Doc)), ""),
            required=field.default is MISSING and field.default_factory is MISSING,
            default=_default(field),
        )
        for field in fields(cls)  # type: ignore[arg-type]  # every Declared is a dataclass
        if field.name != cls.free
    )


def value_type(hint: Any, bounds: tuple[Bound, ...] = ()) -> ValueType:
    """The type that a hint means; bounds of an outer `Annotated` hold for every number within.

    Raises:
        TypeError: no YAML value can be checked against it.
    """
    metadata = _metadata(hint)
    bounds = (*bounds, *(m for m in metadata if isinstance(m, Bound)))
    quantity = next((m for m in metadata if isinstance(m, Quantity)), None)
    if quantity is not None:
        return QuantityType(quantity, bounds)
    while get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    least = next((m.min_length for m in metadata if isinstance(m, MinLen)), 0)
    return _plain_type(hint, bounds) or _container_type(hint, bounds, least)


def _plain_type(hint: Any, bounds: tuple[Bound, ...]) -> ValueType | None:
    anything = SimpleType.ANYTHING
    simple = {str: SimpleType.TEXT, bool: SimpleType.FLAG, Any: anything, object: anything}
    if hint in simple:
        return simple[hint]
    if hint in {int, float}:
        return NumberType(hint is int, bounds)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return ChoiceType(hint)
    if isinstance(hint, type) and issubclass(hint, Declared):
        return RecordType(hint)
    return None


def _container_type(hint: Any, bounds: tuple[Bound, ...], least: int) -> ValueType:
    origin, args = get_origin(hint), get_args(hint)
    if origin in {Union, types.UnionType}:
        members = tuple(value_type(arg, bounds) for arg in args if arg is not type(None))
        return members[0] if len(members) == 1 else UnionType(members)
    if origin is tuple and args[-1] is Ellipsis:
        return ListType(value_type(args[0], bounds), least)
    if origin is tuple:
        return TupleType(tuple(value_type(arg, bounds) for arg in args))
    if origin in {dict, Mapping}:
        return TableType(value_type(args[0]), value_type(args[1], bounds))
    raise TypeError(f"{hint} is no type for a declared parameter")


def _metadata(hint: Any) -> tuple[Any, ...]:
    found: tuple[Any, ...] = ()
    while get_origin(hint) is Annotated:
        hint, *metadata = get_args(hint)
        flat = [m if isinstance(m, GroupedMetadata) else (m,) for m in metadata]
        found = (*chain.from_iterable(flat), *found)
    return found


def _default(field: Any) -> Any:
    if field.default is not MISSING:
        return field.default
    return field.default_factory() if field.default_factory is not MISSING else None
