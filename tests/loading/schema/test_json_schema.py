"""JSON Schema of declared classes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from hypothesis import given
from hypothesis import strategies as st

from preprocess.loading.schema.json_schema import JsonSchemas
from preprocess.model.bench.part import Part
from preprocess.model.declared import Declared
from preprocess.model.options.reading import LayerRule
from preprocess.units import QUANTITIES
from tests.loading.schema.beds import Bed


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


def test_classes_that_share_a_name_are_defined_apart():
    def made(kind):
        cls = type("Pot", (Declared,), {"__annotations__": {"held": kind}})
        return dataclass(frozen=True, kw_only=True)(cls)

    schemas = JsonSchemas()
    references = [schemas.reference(made(kind))["$ref"] for kind in (str, bool)]
    assert len(set(references)) == 2
    found = [schemas.definitions[r.removeprefix("#/$defs/")] for r in references]
    assert [d["properties"]["held"]["type"] for d in found] == ["string", "boolean"]
