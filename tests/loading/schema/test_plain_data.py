"""Plain data of declared values: read back, it gives the same values."""

from __future__ import annotations

import json
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.loading.schema.plain_data import nested_declared, plain_data
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.machine import Machine
from preprocess.model.options.reading import LayerRule
from tests.loading.schema.beds import read


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


def test_declared_values_are_found_with_their_keys():
    value, _ = read("name: a\npots: [{width: 1 mm}]\nrows: {moss: {width: 2 mm}}")
    paths = [path for path, _ in nested_declared(value)]
    assert paths == [(), ("pots", 0), ("rows", "moss")]
