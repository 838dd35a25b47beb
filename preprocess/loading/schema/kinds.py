"""What a type hint of a declared parameter means: one reading for checks, help, docs and schema."""

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


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity with its unit, within bounds given in the base unit."""

    quantity: Quantity
    bounds: tuple[Bound, ...] = ()


@dataclass(frozen=True, slots=True)
class Number:
    """A number without unit, whole or not, within bounds."""

    whole: bool
    bounds: tuple[Bound, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    """Any text."""


@dataclass(frozen=True, slots=True)
class Flag:
    """True or false."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    words: type[StrEnum]


@dataclass(frozen=True, slots=True)
class Record:
    """A mapping with declared keys."""

    cls: type[Declared]


@dataclass(frozen=True, slots=True)
class Items:
    """A list of any length, at least `least`, of one kind."""

    item: Kind
    least: int = 0


@dataclass(frozen=True, slots=True)
class Fixed:
    """A list with one value of each kind."""

    items: tuple[Kind, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A mapping from keys of one kind to values of another."""

    key: Kind
    value: Kind


@dataclass(frozen=True, slots=True)
class Either:
    """One of several kinds, told apart by shape: mapping, list or single value."""

    kinds: tuple[Kind, ...]


@dataclass(frozen=True, slots=True)
class Anything:
    """Whatever YAML can hold."""


Kind = Measure | Number | Text | Flag | Choice | Record | Items | Fixed | Table | Either | Anything


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One declared parameter: its key in YAML, its field, what it takes, what it means."""

    name: str
    field: str
    kind: Kind
    doc: str
    required: bool
    default: Any = None


def once_per_class(make: Maker) -> Maker:
    """Remember what a function made of each class."""
    return cast("Maker", cache(make))


@once_per_class
def keys_of(cls: type[Declared]) -> tuple[Key, ...]:
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
        Key(
            name=field.name.rstrip("_"),
            field=field.name,
            kind=kind_of(hints[field.name]),
            doc=next((m.text for m in _metadata(hints[field.name]) if isinstance(m, Doc)), ""),
            required=field.default is MISSING and field.default_factory is MISSING,
            default=_default(field),
        )
        for field in fields(cls)  # type: ignore[arg-type]  # every Declared is a dataclass
    )


def kind_of(hint: Any, bounds: tuple[Bound, ...] = ()) -> Kind:
    """Read a type hint; bounds of an outer `Annotated` hold for every number within.

    Raises:
        TypeError: a type that no YAML value can be checked against.
    """
    metadata = _metadata(hint)
    bounds = (*bounds, *(m for m in metadata if isinstance(m, Bound)))
    quantity = next((m for m in metadata if isinstance(m, Quantity)), None)
    if quantity is not None:
        return Measure(quantity, bounds)
    while get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    least = next((m.min_length for m in metadata if isinstance(m, MinLen)), 0)
    return _plain(hint, bounds) or _container(hint, bounds, least)


def _plain(hint: Any, bounds: tuple[Bound, ...]) -> Kind | None:
    simple: dict[Any, Kind] = {str: Text(), bool: Flag(), Any: Anything(), object: Anything()}
    if hint in simple:
        return simple[hint]
    if hint in {int, float}:
        return Number(hint is int, bounds)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return Choice(hint)
    if isinstance(hint, type) and issubclass(hint, Declared):
        return Record(hint)
    return None


def _container(hint: Any, bounds: tuple[Bound, ...], least: int) -> Kind:
    origin, args = get_origin(hint), get_args(hint)
    if origin in {Union, types.UnionType}:
        kinds = tuple(kind_of(arg, bounds) for arg in args if arg is not type(None))
        return kinds[0] if len(kinds) == 1 else Either(kinds)
    if origin is tuple and args[-1] is Ellipsis:
        return Items(kind_of(args[0], bounds), least)
    if origin is tuple:
        return Fixed(tuple(kind_of(arg, bounds) for arg in args))
    if origin in {dict, Mapping}:
        return Table(kind_of(args[0]), kind_of(args[1], bounds))
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
