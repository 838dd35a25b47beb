"""Blades for a photo: taper, settings and refusals."""

from __future__ import annotations

import pytest

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from tests.coupon.drawn import FOLDER, paths

PLATE = (60.0, 40.0)
KNOWN = {Operation.ENGRAVE: Settings(power=0.4, speed=900.0, pitch=0.1)}


def made(plate=PLATE, **asked):
    return define("blades", Bench(), plate=plate, settings=KNOWN, asked=CouponOverrides(**asked))


def test_rows_get_shorter_evenly_from_16_mm_to_1_mm() -> None:
    blade = paths((FOLDER / "blades.svg").read_bytes())["cell-B1"]
    _, top, _, bottom = blade.box
    assert bottom - top == pytest.approx(36.0, abs=2e-4)
    for down in (1.0, 12.0, 30.0):
        left, right = blade.crossings(top + down)
        assert right - left == pytest.approx(16 - 15 * down / 36, abs=4e-4)


def test_powers_are_08_1_and_125_of_the_known_one() -> None:
    assert [s.power for s in made().settings] == [0.32, 0.4, 0.5]
    assert {s.pitch for s in made().settings} == {0.1}


def test_for_the_depth_the_blade_of_least_power_has_half_the_pitch() -> None:
    assert [(s.power, s.pitch) for s in made(depth=True).settings] == [
        (0.32, 0.05),
        (0.4, 0.1),
        (0.5, 0.1),
    ]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"lengths": (16.0, 1.0)}, "three lengths, but 2"),
        ({"lengths": (2.0, 3.0, 20.0)}, "tip of 3 mm is as wide as the blade of 2 mm"),
    ],
)
def test_lengths_that_make_no_blade_are_refused(asked, found) -> None:
    with pytest.raises(Refusal, match=found):
        made(**asked)


def test_a_small_plate_is_refused_with_blades_that_may_fit() -> None:
    with pytest.raises(Refusal, match=r"needs 55\.0 × 39\.0 mm, but only 40 × 30 mm") as told:
        build(made(plate=(40.0, 30.0)))
    assert "--lengths" in told.value.remedy
    build(made(plate=(40.0, 30.0), lengths=(10.0, 1.0, 24.0)))
