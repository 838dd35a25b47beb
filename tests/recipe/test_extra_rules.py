"""Extra settings of a machine: declared once, slips refused, carried everywhere."""

from __future__ import annotations

import csv
import json
import re
from io import StringIO
from pathlib import Path

import pytest

from preprocess.coupon.design.define import define
from preprocess.coupon.paper.files import coupon_files
from preprocess.errors import UserError
from preprocess.pipeline import convert, make_report, make_sheet
from preprocess.recipe.load import recipe_from_mapping
from preprocess.recipe.reference.recipe_schema import recipe_schema

MACHINE = {
    "name": "bench galvo",
    "field": ["110 mm", "110 mm"],
    "spot": "0.06 mm",
    "extra_settings": {
        "frequency": {"type": "number", "unit": "kHz", "from": 20, "to": 80},
        "pulse_width": {"type": "number", "unit": "ns"},
        "defocus": {"type": "number", "unit": "mm"},
        "lens": {"type": "word", "words": ["110 mm", "160 mm"]},
        "air_assist": {"type": "switch"},
    },
}
EXTRA = {
    "frequency": "30kHz",
    "pulse_width": "200 ns",
    "defocus": "-2.0 mm",
    "lens": "110 mm",
    "air_assist": False,
}
SAID = {
    "frequency": "30 kHz",
    "pulse_width": "200 ns",
    "defocus": "-2 mm",
    "lens": "110 mm",
    "air_assist": "off",
}
LEAF = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="leaf" d="M12 20 Q24 8 40 14 Q30 30 12 20 Z"/></svg>"""


def recipe(extra=EXTRA, machine=MACHINE, **more):
    even = {"power": "40 %", "speed": "600 mm/s", "pitch": "0.1 mm"}
    return recipe_from_mapping(
        {
            "recipe": 1,
            "machine": machine,
            "part": {"outline": ["50 mm", "30 mm"], "thickness": "3 mm"},
            "settings": {"engrave": {**even, **extra}},
            "passes": ["merge"],
            **more,
        }
    )


def complaint(**more) -> str:
    with pytest.raises(UserError) as caught:
        recipe(**more)
    (one,) = caught.value.complaints
    return f"{one.found}; {one.remedy}"


def test_they_are_read_in_one_notation() -> None:
    (settings,) = recipe().recipe.settings.values()
    assert dict(settings.extra) == SAID


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ({"frequncy": "30 kHz"}, "unknown key 'frequncy'; did you mean frequency?"),
        ({"pwoer": "30 %"}, "unknown key 'pwoer'; did you mean power?"),
        ({"gas": "air"}, "others are declared in the machine file, under extra_settings:"),
        ({"frequency": "30 Hz"}, "frequency is '30 Hz'; write a number in kHz, such as 30 kHz"),
        ({"frequency": 30}, "frequency is '30'; write a number in kHz, such as 30 kHz"),
        ({"frequency": "90 kHz"}, "it must be at least 20 kHz and at most 80 kHz"),
        ({"lens": "100 mm"}, "lens is '100 mm'; did you mean 1"),
        ({"air_assist": "perhaps"}, "write on or off"),
    ],
)
def test_a_slip_is_an_error(extra, words) -> None:
    assert words in complaint(extra=extra)


def test_a_machine_that_declares_none_has_none() -> None:
    assert "unknown key 'frequency'" in complaint(
        extra={"frequency": "30 kHz"}, machine={"name": "bench"}
    )


@pytest.mark.parametrize(
    ("declared", "words"),
    [
        ({"power": {}}, "an extra setting is called 'power'"),
        ({"Gas flow": {}}, "an extra setting is called 'Gas flow'"),
        ({"lens": {"type": "word", "unit": "mm"}}, "lens is a word with a unit or limits"),
        ({"air": {"type": "switch", "words": ["a"]}}, "air is a switch with words"),
    ],
)
def test_a_declaration_that_makes_no_sense_is_refused(declared, words) -> None:
    assert words in complaint(extra={}, machine={"name": "b", "extra_settings": declared})


def test_sheet_and_report_show_every_one() -> None:
    loaded = recipe()
    result = convert(loaded, LEAF, "leaf.svg")
    told = json.loads(make_report(result, loaded, "leaf"))
    assert told["layers"][0]["settings"]["extra"] == SAID
    page = make_sheet(result, loaded, "leaf").decode()
    cell = re.search(r'data-name="More"[^>]*>(.*?)</td>', page, re.DOTALL)[1]
    assert re.findall(r"<span>(.*?)</span>", cell.replace("\N{NO-BREAK SPACE}", " ")) == [
        f"{name.replace('_', ' ')} {SAID[name]}" for name in sorted(SAID)
    ]
    assert told["recipe_as_run"]["settings"]["engrave"]["frequency"] == "30 kHz"


def test_a_layer_overrides_one_and_keeps_the_others() -> None:
    own = {"name": "leaf", "operation": "engrave", "choose": {"select": "#leaf"}}
    loaded = recipe(layers=[{**own, "settings": {"frequency": "60 kHz"}}])
    (layer,) = convert(loaded, LEAF, "leaf.svg").after.layers
    (settings,) = layer.settings.values()
    assert dict(settings.extra) == {**SAID, "frequency": "60 kHz"}


def test_coupon_table_and_sheet_carry_them() -> None:
    loaded = recipe()
    made = define("row-span", loaded.bench, plate=(60, 40), settings=loaded.recipe.settings)
    data = coupon_files(made, Path("c.svg")).data
    rows = list(csv.DictReader(StringIO(data[Path("c.grades.csv")].decode())))
    assert rows
    assert all(row[name] == text for row in rows for name, text in SAID.items())
    page = data[Path("c.coupon.html")].decode()
    assert "frequency 30 kHz" in page
    assert "pulse width 200 ns" in page


def test_the_schema_lets_them_pass() -> None:
    definitions = recipe_schema()["$defs"]
    assert definitions["Settings"]["additionalProperties"]["type"] == [
        "string",
        "number",
        "boolean",
    ]
    assert "extra" not in definitions["Settings"]["properties"]
    assert definitions["Machine"]["additionalProperties"] is False
