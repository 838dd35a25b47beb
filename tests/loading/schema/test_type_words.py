"""Types in words: what a key takes, its bounds and its default."""

from __future__ import annotations

from dataclasses import fields

import pytest

from preprocess.loading.schema.type_words import accepted_values, default_text
from preprocess.loading.schema.value_types import declared_keys
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.model.options.reading import LayerRule
from tests.loading.schema.beds import Bed


@pytest.mark.parametrize("cls", [Machine, Filament, Part, LayerRule, Drawing, Bed])
def test_every_parameter_is_described(cls):
    keys = declared_keys(cls)
    assert [key.field for key in keys] == [field.name for field in fields(cls)]
    assert all(accepted_values(key) and key.doc for key in keys)


def test_descriptions_in_words():
    said = {key.name: accepted_values(key) for key in declared_keys(Bed)}
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
