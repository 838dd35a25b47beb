"""A machine's palette: colours, slots and their order; equal layers on one colour."""

from __future__ import annotations

import re

import pytest

from preprocess.errors import UserError
from preprocess.pipeline import convert, make_sheet
from preprocess.recipe.load import recipe_from_mapping
from tests import written_svg as written

PALETTE = ["#112233", "#335577", "#AA3311", "#00aa77", "#cc9900"]

LABEL = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="leaf" d="M5 20 Q15 5 25 20 Q15 35 5 20 Z" fill="#106010"/>
<path id="moth" d="M30 10 L40 12 L38 24 L30 20 Z" fill="#604010"/>
<path id="seed" d="M45 20 q4 -6 8 0 q-4 6 -8 0 Z" fill="#806040"/>
<path id="vein" d="M5 36 H55" fill="none" stroke="#202020" stroke-width="0.2"/>
</svg>"""
_OF = {"leaf": {}, "moth": {"power": "25 %"}, "seed": {}}


def recipe(machine=None, **more):
    named = {"name": "bench", **(machine or {})}
    return recipe_from_mapping(
        {
            "recipe": 1,
            "machine": named,
            "layers": [
                {
                    "name": name,
                    "operation": "engrave",
                    "choose": {"select": f"#{name}"},
                    "settings": own,
                }
                for name, own in _OF.items()
            ],
            "settings": {
                "engrave": {"power": "40 %", "speed": "600 mm/s", "pitch": "0.1 mm"},
                "score": {"power": "20 %", "speed": "200 mm/s"},
            },
            "passes": ["merge"],
            **more,
        }
    )


def made(machine=None, **more):
    return convert(recipe(machine, **more), LABEL, "label.svg")


def colours(result) -> dict[str, str]:
    return {layer.title: layer.colour for layer in written.read(result.data)[1]}


def codes(result, severity: str) -> list[str]:
    return [f.code for f in result.findings if f.severity == severity]


def test_layers_take_the_colours_of_the_palette_in_its_order() -> None:
    assert colours(made({"palette": PALETTE})) == {
        "leaf": "#112233",
        "moth": "#335577",
        "seed": "#aa3311",
        "artwork-score": "#00aa77",
    }


def test_own_guides_take_the_last_slots() -> None:
    result = made({"palette": PALETTE, "field": ["90 mm", "60 mm"]}, anchors=True)
    assert colours(result)["anchors"] == "#cc9900"
    assert colours(result)["leaf"] == "#112233"


def test_a_palette_that_is_too_small_stops() -> None:
    assert "too-many-layers" in codes(made({"palette": PALETTE[:3]}), "stop")


def test_a_colour_outside_the_palette_stops() -> None:
    result = made({"palette": PALETTE}, colours={"leaf": "#123456"})
    (told,) = (f for f in result.findings if f.code == "colour-not-in-palette")
    assert told.severity == "stop"
    assert "#123456" in told.message


def test_slots_out_of_order_are_told_once_and_only_where_software_goes_by_them() -> None:
    turned = {"leaf": "#00aa77", "moth": "#112233"}
    listed = made({"palette": PALETTE, "palette_order": "as-listed"}, colours=turned)
    assert codes(listed, "warn").count("marked-in-another-order") == 1
    (told,) = (f for f in listed.findings if f.code == "marked-in-another-order")
    # free slots after the two given ones: seed 2, artwork-score 3
    assert "moth, seed, artwork-score, leaf" in told.message
    drawn = made({"palette": PALETTE}, colours=turned)
    assert "marked-in-another-order" not in codes(drawn, "warn")
    plain = made({"palette": PALETTE, "palette_order": "as-listed"})
    assert "marked-in-another-order" not in codes(plain, "warn")


def test_the_sheet_says_the_slots() -> None:
    loaded = recipe({"palette": PALETTE})
    page = make_sheet(convert(loaded, LABEL, "label.svg"), loaded, "label").decode()
    rows = re.findall(r'<td role="cell" class="colour">.*?</td>.*?</th>', page, re.DOTALL)
    found = [
        (re.search(r"slot (\d)", row)[1], re.search(r'class="layer">([\w-]+)', row)[1])
        for row in rows
    ]
    assert found == [("1", "leaf"), ("2", "moth"), ("3", "seed"), ("4", "artwork-score")]


@pytest.mark.parametrize(
    ("machine", "sentence"),
    [
        ({"palette": ["red"]}, "palette: 'red' is no colour"),
        ({"palette": ["#aabbcc", "#AABBCC"]}, "#AABBCC is slot 1 already"),
        ({"palette_order": "as-listed"}, "there is no palette"),
    ],
)
def test_a_palette_that_makes_no_sense_is_refused(machine, sentence) -> None:
    with pytest.raises(UserError, match=sentence):
        recipe(machine)


def test_layers_of_equal_settings_are_written_as_one() -> None:
    apart, shared = made(), made(share_colours=True)
    one, other = (written.read(result.data)[1] for result in (apart, shared))
    assert [layer.title for layer in other] == ["leaf", "moth", "artwork-score"]
    areas = {layer.title: layer.area for layer in one}
    assert other[0].area == pytest.approx(areas["leaf"] + areas["seed"], abs=1e-6)
    assert other[1].area == pytest.approx(areas["moth"])
    (told,) = (f for f in shared.findings if f.code == "layers-written-as-one")
    assert told.message == "leaf and seed have equal settings: written as leaf"


def test_the_ledger_balances_where_layers_are_shared() -> None:
    shared = made(share_colours=True)
    before, after = shared.amounts
    for layer in ("leaf", "seed"):
        moved = sum(
            change.added.area - change.removed.area
            for _, changes in shared.ledger
            for change in changes
            if change.layer == layer
        )
        now = after[layer].area if layer in after else 0.0
        assert now == pytest.approx(before[layer].area + moved)


def test_layers_without_known_power_stay_apart() -> None:
    result = made(share_colours=True, settings={"engrave": {"speed": "600 mm/s"}})
    assert "seed" in colours(result)
