"""Definitions of coupons: settings, powers, lengths, and refusals."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.filament import Reference
from preprocess.model.bench.machine import PowerSteps
from preprocess.model.bench.part import Part
from tests.coupon.benches import BENCH, MACHINE, PLATE, SPOOL, made, powers


def test_the_known_power_lies_in_the_middle() -> None:
    assert powers(made("row-span")) == [0.21, 0.3, 0.42]


def test_a_part_of_another_spool_gives_a_coupon_of_that_spool() -> None:
    part = Part(outline=PLATE, filament="slate PETG")
    held = made(bench=replace(BENCH, parts=(part,))).bench.filament
    assert held == replace(SPOOL, name="slate PETG")


def test_an_unknown_power_begins_low() -> None:
    settings = {Operation.ENGRAVE: Settings(speed=900.0, pitch=0.1)}
    assert powers(made("row-span", settings=settings)) == [0.1, 0.2, 0.4]
    assert powers(made("pitch", settings=settings)) == [0.1]


def test_the_reference_patch_fills_what_the_recipe_leaves_open() -> None:
    even = Reference(power=0.5, speed=600.0, pitch=0.08, direction=Direction.TWO_WAY)
    bench = replace(BENCH, filament=replace(SPOOL, reference=even))
    cell = made("bar-distance", bench, settings={}).cells[0]
    assert (cell.power, cell.speed, cell.pitch, cell.two_way) == (0.5, 600.0, 0.08, True)


def test_powers_are_those_that_the_machine_can_be_set_to() -> None:
    coarse = replace(MACHINE, power=PowerSteps(from_=0.05, to=0.4, step=0.05))
    assert powers(made("row-span", replace(BENCH, machine=coarse))) == [0.2, 0.3, 0.4]


def test_at_half_the_speed_the_powers_are_lower_by_the_middle_exponent() -> None:
    cells = made("power-speed").cells
    assert {cell.speed for cell in cells} == {900.0, 450.0}
    slow = sorted({cell.power for cell in cells if cell.speed == 450.0})
    # nobody has graded this filament, so the known power is halved and doubled
    assert slow == [round(p * 0.5**0.75, 2) for p in (0.15, 0.3, 0.6)] == [0.09, 0.18, 0.36]


def test_a_recipe_that_repeats_gives_a_coupon_that_repeats() -> None:
    settings = {Operation.ENGRAVE: Settings(speed=900.0, pitch=0.1, repeats=2)}
    artwork = made("row-span", settings=settings).artwork
    assert artwork.layer("A").of(Operation.ENGRAVE).repeats == 2


def test_the_slower_speed_is_one_that_the_machine_can_be_set_to() -> None:
    odd = {Operation.ENGRAVE: Settings(power=0.3, speed=904.6, pitch=0.1)}
    assert {cell.speed for cell in made(settings=odd).cells} == {904.6, 452.0}
    slow = {Operation.ENGRAVE: Settings(power=0.3, speed=1.5, pitch=0.1)}
    assert {cell.speed for cell in made(settings=slow).cells} == {1.5, 3.0}


def test_layers_differ_in_what_the_kind_measures_alone() -> None:
    assert {(c.power, c.speed) for c in made("pitch").cells} == {(0.3, 900.0)}
    assert len({c.pitch for c in made("pitch").cells}) == 5
    pairs = {(c.power, c.two_way) for c in made("one-way-two-way").cells}
    assert len(pairs) == 2 * len({power for power, _ in pairs})


def test_what_is_asked_for_is_done() -> None:
    coupon = made("row-span", powers=(0.2, 0.25), speeds=(700.0,), lengths=(10.0, 5.0, 2.0))
    assert {(c.power, c.speed, c.size["span"]) for c in coupon.cells} == {
        (power, 700.0, span) for power in (0.2, 0.25) for span in (10.0, 5.0, 2.0)
    }
    layers = (Settings(power=0.4, speed=100.0, pitch=0.2, direction=Direction.TWO_WAY),)
    cell = made("row-span", layers=layers).cells[0]
    assert (cell.layer, cell.power, cell.pitch, cell.two_way) == ("A", 0.4, 0.2, True)


def test_the_gauge_is_as_large_as_plate_and_field_let_it_be() -> None:
    lengths = [cell.size["length"] for cell in made("field-scale").cells]
    assert lengths[:4] == [57.0, 57.0, 37.0, 37.0]
    assert lengths[4] == lengths[5] == pytest.approx((57**2 + 37**2) ** 0.5, abs=5e-4)
    within = made("field-scale", plate=(200.0, 200.0)).cells
    assert [cell.size["length"] for cell in within[:4]] == [130.0, 130.0, 90.0, 90.0]


@pytest.mark.parametrize(
    ("asked", "found", "remedy"),
    [
        ({"kind": "row-spam"}, "no coupon of kind 'row-spam'", "did you mean row-span?"),
        ({"kind": "zzz"}, "no coupon of kind 'zzz'", "take one of power-speed, pitch"),
        ({"settings": {}}, "no speed is known to engrave with", "--speeds"),
        ({"kind": "score-depth", "settings": {}}, "no speed is known to score with", "--speeds"),
        (
            {"settings": {Operation.ENGRAVE: Settings(speed=9.0)}},
            "no pitch is known",
            "--pitches",
        ),
        (
            {"powers": tuple(n / 20 for n in range(1, 9))},
            "16 layers and the labels .* a coupon has room for 7",
            "fewer powers",
        ),
        (
            {"bench": replace(BENCH, machine=replace(MACHINE, max_layers=4))},
            "6 layers .* software of bench galvo leaves room for 3",
            "fewer powers",
        ),
        ({"kind": "score-depth", "pitches": (0.1,)}, "scored and has no rows", "leave out"),
        ({"kind": "field-scale", "powers": (0.1, 0.2)}, "gauge .* has one layer", "one power"),
        ({"kind": "field-scale", "lengths": (9.0, 8.0, 7.0)}, "3 lengths", "at most 2"),
        ({"lengths": (5.0, 0.002)}, "0.002 mm is too short", "from 0.01 mm on"),
        ({"kind": "tip-width", "lengths": (7.0,)}, "7 mm is as wide as its leaf", "below 5 mm"),
        ({"lengths": (1.0,) * 25}, "25 lengths", "at most 24"),
        ({"layers": (Settings(power=0.2),)}, "layer A has no speed and no pitch", "give it"),
        ({"powers": (1.2,)}, "120 % cannot be set", "between 1 % and 100 %"),
        ({"powers": (0.205,)}, "lies between two steps", "give 20 %"),
    ],
)
def test_what_cannot_be_made_is_refused_with_what_would_help(asked, found, remedy) -> None:
    with pytest.raises(Refusal, match=found) as told:
        made(**asked)
    assert remedy in told.value.remedy
