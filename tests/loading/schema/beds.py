"""A declared class with a key of each type, for tests: beds of a nursery."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any

from annotated_types import Ge, Gt, Interval, Le, Lt, MinLen

from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.yaml_document import parse_yaml
from preprocess.model.declared import Declared, Doc
from preprocess.units import Angle, Length, Share


class Leaf(StrEnum):
    FERN = "fern"
    MOSS = "moss"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pot(Declared):
    width: Annotated[Length, Gt(0), Lt(100), Doc("width of the pot")]
    from_: Annotated[Angle | None, Doc("a keyword")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed(Declared):
    name: Annotated[str, Doc("what it is called")]
    pots: Annotated[tuple[Pot, ...], MinLen(1), Doc("its pots")] = (Pot(width=1.0),)
    shares: Annotated[tuple[Share, ...], Gt(0), Le(1), Doc("levels")] = ()
    size: Annotated[str | tuple[Length, Length] | Pot | None, Ge(0), Doc("a size")] = None
    leaf: Annotated[Leaf, Doc("leaf")] = Leaf.FERN
    rows: Annotated[dict[Leaf, Pot], Doc("by leaf")] = field(default_factory=dict)
    wet: Annotated[bool, Doc("watered")] = False
    count: Annotated[int, Interval(ge=1, le=9), Doc("how many")] = 1
    ratio: Annotated[float, Doc("a plain number")] = 0.5
    notes: Annotated[Any, Doc("anything")] = None


def read(text, cls=Bed):
    value, complaints = read_declared(cls, parse_yaml(text, "bed.yaml"))
    return value, [str(complaint) for complaint in complaints]
