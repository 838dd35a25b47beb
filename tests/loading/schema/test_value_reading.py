"""Declared dataclasses from YAML: values, complaints, words and schema."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Annotated, Any

import pytest
from annotated_types import Ge, Gt, Interval, Le, Lt, MinLen
from hypothesis import given
from hypothesis import strategies as st

from preprocess.loading.schema.json_schema import JsonSchemas
from preprocess.loading.schema.plain_data import nested_declared, plain_data
from preprocess.loading.schema.type_words import default_text, takes
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.schema.value_types import declared_keys, value_type
from preprocess.loading.yaml.document import parse_yaml
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.model.declared import Declared, Doc
from preprocess.model.options.reading import LayerRule
from preprocess.units import QUANTITIES, Angle, Length, Share


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


def test_every_kind_of_value():
    text = """
    name: south
    pots: [{width: 2 cm, from: 90 deg}, {width: 5 mm}]
    shares: [100 %, 50 %]
    size: [10 mm, 1 in]
    leaf: moss
    rows: {fern: {width: 3 mm}}
    wet: true
    count: 3
    ratio: 2
    notes: [1, {a: b}]
    """
    value, complaints = read(text)
    assert complaints == []
    assert value == Bed(
        name="south",
        pots=(Pot(width=20.0, from_=90.0), Pot(width=5.0)),
        shares=(1.0, 0.5),
        size=(10.0, 25.4),
        leaf=Leaf.MOSS,
        rows={Leaf.FERN: Pot(width=3.0)},
        wet=True,
        count=3,
        ratio=2.0,
        notes=[1, {"a": "b"}],
    )
    assert isinstance(value.ratio, float)
    assert isinstance(value.leaf, Leaf)


def test_unions_are_told_apart_by_shape():
    assert read("name: a\nsize: small")[0].size == "small"
    assert read("name: a\nsize: {width: 1 mm}")[0].size == Pot(width=1.0)
    assert read("name: a\nsize: 3")[1] == ["bed.yaml:2:7: size is 3; put it in quotes: '3'"]
    assert read("name: a\nsize: [1 mm, -1 mm]")[1] == [
        "bed.yaml:2:14: size, entry 2 is -1 mm; it must be at least 0 mm"
    ]


def test_what_is_not_given_keeps_the_default_of_the_dataclass():
    value, _ = read("name: south")
    assert value == Bed(name="south")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("pots: []", "1:7: pots holds 0 values; give at least 1"),
        ("pots: {width: 1 mm}", "1:7: pots is a mapping; write a list such as [{width: 0.2 mm}]"),
        ("pots: [{width: 0 mm}]", "1:16: width is 0 mm; it must be above 0 mm and below 100 mm"),
        (
            "pots: [{width: 1 mm}, {}]",
            "1:23: pots, entry 2 lacks the key 'width'; add it, for example width: 0.2 mm",
        ),
        ("pots: [3]", "1:8: pots, entry 1 is 3; write a mapping with the keys width, from"),
        ("pots: [{width: 1 mm, from_: 1 deg}]", "1:22: unknown key 'from_'; did you mean from?"),
        (
            "shares: [50 %, 120 %]",
            "1:16: shares, entry 2 is 120 %; it must be above 0 % and at most 100 %",
        ),
        ("shares: 50 %", "1:9: shares is '50 %'; write a list such as [55 %]"),
        ("shares: [0.5]", "1:10: shares, entry 1: a share needs its unit; write for example 0.5 %"),
        ("size: [1 mm]", "1:7: size holds 1 value; write a list such as [0.2 mm, 0.2 mm]"),
        ("leaf: mos", "1:7: leaf is 'mos'; did you mean moss?"),
        ("leaf: 7", "1:7: leaf is 7; write one of fern, moss"),
        ("rows: {mos: {width: 1 mm}}", "1:8: unknown key 'mos'; did you mean moss?"),
        ("rows: [a]", "1:7: rows is a list; write a mapping such as {fern: {width: 0.2 mm}}"),
        ("wet: yes", "1:6: wet is 'yes'; write true or false"),
        ("count: true", "1:8: count is true; write a whole number"),
        ("count: 1.0", "1:8: count is 1.0; write a whole number"),
        ("count: 10", "1:8: count is 10; it must be at least 1 and at most 9"),
        ("ratio: .nan", "1:8: ratio is nan; write a number"),
        ("ratio: true", "1:8: ratio is true; write a number"),
        ("ratio: '1'", "1:8: ratio is '1'; write a number"),
        ("wet:", "1:1: wet has no value; give it one or delete it"),
        (
            "leaf: #moss",
            "1:1: leaf has no value, since the unquoted #moss starts a comment; quote it: '#moss'",
        ),
        (
            "pots:\n - #a\n",
            (
                "2:3: pots, entry 1 has no value, since the unquoted #a starts a comment; quote "
                "it: '#a'"
            ),
        ),
        (
            "zinc: 1",
            (
                "1:1: unknown key 'zinc'; known keys: name, pots, shares, size, leaf, rows, "
                "wet, count, ratio, notes"
            ),
        ),
    ],
)
def test_sentences(text, sentence):
    value, complaints = read(f"{text}\nname: south\n")
    assert value is None
    assert complaints == [f"bed.yaml:{sentence}"]


def test_all_complaints_at_once():
    _, complaints = read("leaf: mos\ncount: 0\ncolour: red\nshares: [1, 2]\nwet:\n")
    assert len(complaints) == 7
    assert (
        "bed.yaml:1:1: the file lacks the key 'name'; add it, for example name: 'text'"
        in complaints
    )


@given(
    st.builds(
        Settings,
        power=st.none() | st.integers(1, 100).map(lambda n: n / 100),
        speed=st.none() | st.integers(1, 5000).map(float),
        pitch=st.none() | st.integers(1, 500).map(lambda n: n / 1000),
        direction=st.none() | st.sampled_from(Direction),
        angle=st.none() | st.integers(-360, 360).map(float),
        repeats=st.none() | st.integers(1, 9),
    ),
    st.sampled_from(Operation),
    st.builds(Selection, label=st.none() | st.text("ab c"), select=st.none() | st.just("#a")),
)
def test_plain_values_are_read_back(settings, operation, choose):
    rule = LayerRule(name="fronds", operation=operation, choose=choose, settings=settings)
    value, complaints = read(json.dumps(plain_data(rule)), LayerRule)
    assert complaints == []
    for f in fields(Settings):
        assert getattr(value.settings, f.name) == pytest.approx(getattr(settings, f.name))
    assert (value.operation, value.choose) == (operation, choose)


@pytest.mark.parametrize("cls", [Machine, Drawing, Settings, Selection])
def test_defaults_of_the_model_are_read_back(cls):
    value, complaints = read("{}" if not plain_data(cls()) else json.dumps(plain_data(cls())), cls)
    assert complaints == []
    assert value == cls()


@pytest.mark.parametrize("cls", [Machine, Filament, Part, LayerRule, Drawing, Bed])
def test_every_parameter_is_described(cls):
    keys = declared_keys(cls)
    assert [key.field for key in keys] == [field.name for field in fields(cls)]
    assert all(takes(key) and key.doc for key in keys)


def test_descriptions_in_words():
    said = {key.name: takes(key) for key in declared_keys(Bed)}
    assert said["shares"] == "list, each entry a share, above 0 % and at most 100 %"
    assert said["size"] == "text, or [length, length], or {width, from}, at least 0 mm"
    assert said["leaf"] == "one of fern, moss"
    assert said["count"] == "whole number, at least 1 and at most 9"
    assert said["rows"] == "one of fern, moss: {width, from}"
    defaults = {key.name: default_text(key) for key in declared_keys(Bed)}
    assert defaults["name"] == "required"
    assert defaults["leaf"] == "fern"
    assert defaults["pots"] == "[{width: 1 mm}]"
    assert defaults["ratio"] == "0.5"
    assert defaults["size"] == "none"


def test_schema_names_keys_units_and_bounds():
    schemas = JsonSchemas()
    assert schemas.reference(Bed) == {"$ref": "#/$defs/Bed"}
    schema = schemas.definition(Bed)
    assert schema["additionalProperties"] is False
    assert schema["required"] == ["name"]
    assert schema["properties"]["leaf"]["enum"] == ["fern", "moss"]
    assert schema["properties"]["count"]["minimum"] == 1
    assert schema["properties"]["count"]["maximum"] == 9
    pot = schemas.definitions["Pot"]
    assert set(pot["properties"]) == {"width", "from"}
    assert "above 0 mm" in pot["properties"]["width"]["title"]
    assert "default" not in pot["properties"]["from"]


@given(st.sampled_from(QUANTITIES), st.integers(1, 999), st.data())
def test_schema_patterns_take_what_the_parser_takes(quantity, number, data):
    @dataclass(frozen=True, kw_only=True)
    class Held(Declared):
        held: Annotated[float, quantity]

    Held.__annotations__["held"] = Annotated[float, quantity]
    pattern = JsonSchemas().definition(Held)["properties"]["held"]["pattern"]
    unit = data.draw(st.sampled_from([*quantity.units, *(quantity.inverse or ())]))
    assert re.search(pattern, f"{number / 10} {unit}")
    assert not re.search(pattern, f"{number}")
    assert not re.search(pattern, f"{number} {unit} x")


def test_schemas_share_definitions():
    schemas = JsonSchemas()
    for cls in (LayerRule, Part):
        assert schemas.reference(cls) == {"$ref": f"#/$defs/{cls.__name__}"}
    assert {"LayerRule", "Part", "Selection", "Settings", "PrintLines"} <= set(schemas.definitions)


def test_declared_values_are_found_with_their_keys():
    value, _ = read("name: a\npots: [{width: 1 mm}]\nrows: {moss: {width: 2 mm}}")
    paths = [path for path, _ in nested_declared(value)]
    assert paths == [(), ("pots", 0), ("rows", "moss")]


def test_a_type_that_yaml_cannot_hold_is_refused():
    with pytest.raises(TypeError, match="no type for a declared parameter"):
        value_type(complex)


def test_a_name_that_only_type_checkers_see_is_told():
    @dataclass(frozen=True, kw_only=True)
    class Blind(Declared):
        held: Annotated[Nowhere, Doc("x")] = None  # type: ignore[name-defined]  # noqa: F821

    with pytest.raises(TypeError, match="imported at run time"):
        declared_keys(Blind)
