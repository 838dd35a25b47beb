"""Editors and `check` agree: what one refuses, the other refuses; judged by another library."""

from __future__ import annotations

import pytest

from preprocess.errors import UserError
from preprocess.loading.yaml.yaml_document import parse_yaml
from preprocess.recipe.load import recipe_from_mapping
from preprocess.recipe.reference.recipe_schema import recipe_schema

jsonschema = pytest.importorskip("jsonschema", reason="in the extra 'test'")

RIGHT = """
{}
{design: fern.svg}
{extends: ''}
{machine: {name: bench galvo, field: [130 mm, 90 mm], spot: 0.06 mm}}
{machine: {mover: gantry, acceleration: 3000 mm/s2}}
{filament: {name: moss-green PETG}}
{filament: {name: moss, polymer: PETG, window: {weak: 0.85, heavy: 1.2, molten: 1.6}}}
{part: {outline: '#label-edge', thickness: 3 mm}}
{part: {outline: [60 mm, 30 mm]}}
{part: [{outline: '#one'}, {outline: '#two'}]}
{keep_off: ['#clip-left', .screw]}
{layers: [{name: fronds, operation: engrave, choose: {label: Fronds}}]}
{layers: [{name: veins, operation: score, choose: {colour: '#d06000'}, settings: {power: 25 %}}]}
{settings: {engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm}}}
{settings: {engrave: {direction: two-way, angle: 45 deg, repeats: 2}}}
{settings: {engrave: {pitch: 254 lines/in}}}
{settings: {score: {power: 30%, speed: 250mm/s}}}
{drawing: {tolerance: 0.005 mm, px_per_inch: 96, decimals: 4}}
{shades: solid}
{shades: {bands: 4}}
{shades: {threshold: 50 %}}
{fonts: {installed: true, substitute: sans-serif}}
{text: [{element: '#plant-name', value: Fern}]}
{limits: {file: 64 MiB}}
{colours: {fronds-1: '#0072b2'}}
{check_square: true}
{passes: [merge]}
{passes: [strokes-to-areas: {wider_than: 0.3 mm}, merge]}
{passes: [inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm, off: true}]}
{passes: [merge: {only: {label: Fronds}}, tag-power: {by: width, levels: 2, powers: [100 %, 90 %]}]}
{passes: [equalize-width: {clearance: 2 mm, bar: 0.6 mm}]}
""".strip().splitlines()

WRONG = """
{engrve: {}}
{settings: {engrve: {power: 30 %}}}
{settings: {engrave: {pwer: 30 %}}}
{settings: {engrave: {power: 30}}}
{settings: {engrave: {power: thirty %}}}
{settings: {engrave: {power: 30 mm}}}
{settings: {engrave: {speed: 0 mm/s}}}
{settings: {engrave: {pitch: -0.1 mm}}}
{settings: {engrave: {direction: both-ways}}}
{settings: {engrave: {repeats: 1.5}}}
{settings: {engrave: {repeats: 0}}}
{settings: [engrave]}
{settings: {engrave: {power: null}}}
{design: 3}
{design: [fern.svg]}
{machine: {spot: 60}}
{machine: {spt: 0.06 mm}}
{machine: {field: [130 mm]}}
{machine: {mover: belt}}
{filament: {polymer: PETG}}
{part: {outline: 60 mm, thickness: 0 mm}}
{part: {thickness: 3 mm}}
{keep_off: '#clip-left'}
{layers: [{name: fronds, operation: burn, choose: {label: Fronds}}]}
{layers: [{operation: engrave, choose: {label: Fronds}}]}
{layers: [{name: fronds, operation: engrave, choose: {lable: Fronds}}]}
{shades: {bands: many}}
{shades: shaded}
{colours: [red]}
{check_square: maybe}
{passes: merge}
{passes: [marge]}
{passes: [merge: {only: Fronds}]}
{passes: [inset-tips]}
{passes: [inset-tips: {narrower_than: 0.4, by: 0.05 mm}]}
{passes: [inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm}, tag-power: {by: colour, levels: 2}]}
{passes: [merge: {off: perhaps}]}
{passes: [{merge: {}, split: {}}]}
{passes: [5]}
""".strip().splitlines()

SCHEMA = recipe_schema()


def held(line: str) -> dict[str, object]:
    return {"recipe": 1, **parse_yaml(line, "line").data}


def agrees(data: object) -> bool:
    return jsonschema.Draft202012Validator(SCHEMA).is_valid(data)


def is_taken(data: dict[str, object]) -> bool:
    try:
        recipe_from_mapping(data)
    except UserError:
        return False
    return True


def test_there_are_enough_of_both():
    assert len(RIGHT) >= 30
    assert len(WRONG) >= 30


@pytest.mark.parametrize("line", [line for line in RIGHT if "extends" not in line])
def test_both_take_what_is_right(line):
    assert is_taken(held(line))
    assert agrees(held(line))


@pytest.mark.parametrize("line", WRONG)
def test_both_refuse_what_is_wrong(line):
    assert not is_taken(held(line))
    assert not agrees(held(line))


def test_keys_of_a_machine_are_taken_where_one_may_have_them():
    wanted = {"settings": {"engrave": {"frequency": 30}}}
    named = {"name": "bench", "extra_settings": {"frequency": {"type": "number"}}}
    assert is_taken({"recipe": 1, "machine": named, **wanted})
    assert agrees({"recipe": 1, "machine": named, **wanted})
    assert agrees({"recipe": 1, "machine": "bench.yaml", **wanted})
    assert not agrees({"recipe": 1, "machine": {"name": "bench"}, **wanted})
    layer = {"name": "x", "operation": "engrave", "choose": {"label": "x"}, "settings": {"pwr": 1}}
    assert not agrees({"recipe": 1, "layers": [layer]})


@pytest.mark.parametrize("data", [{}, {"recipe": 2}, {"recipe": "1"}])
def test_both_ask_for_the_version(data):
    assert not is_taken(data)
    assert not agrees(data)


def test_every_key_teaches_by_a_sentence_and_an_example():
    for title, schema in SCHEMA["$defs"].items():
        for key, told in schema.get("properties", {}).items():
            assert told["description"], (title, key)
            assert told["examples"], (title, key)


def test_examples_and_defaults_are_what_the_schema_takes():
    for title, schema in SCHEMA["$defs"].items():
        for key, told in schema.get("properties", {}).items():
            inner = {**told, "$defs": SCHEMA["$defs"]}
            checker = jsonschema.Draft202012Validator(inner)
            for example in told["examples"]:
                assert checker.is_valid(example), (title, key, example)
            if "default" in told and told["default"] != []:
                assert checker.is_valid(told["default"]), (title, key, told["default"])


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
