"""What a design uses beside what was graded, on drawings whose rows are counted by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides, over
from preprocess.coupon.design.define import define
from preprocess.coupon.design.for_design import design_uses
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Tried
from tests.coupon.benches import BENCH, MACHINE, SETTINGS
from tests.marking.drawn import artwork, shape
from tests.marking.struck import settings

TRIED = Tried(
    power=(0.2, 0.5),
    speed=(450.0, 900.0),
    pitch=(0.1, 0.1),
    span=(2.0, 8.0),
    feature=(1.9, 5.0),
    size=(5.0, 8.0),
)
GRADED = Filament(name="moss", reference=Reference(), tried=TRIED)


def uses_of(geometry, filament=GRADED, **how):
    art = artwork(shape(geometry), settings=settings(how.pop("speed", 900.0), **how))
    plan = plan_of(art, MACHINE)
    found = design_uses(plan, schedule_of(plan, MACHINE), filament)
    return {one.what: one for one in found}


def test_a_design_like_the_graded_cells_needs_no_coupon():
    found = uses_of(box(0, 0, 8, 5), two_way=False)
    assert {one.kind for one in found.values()} == {None}
    assert found["row span"].used == "8 mm"
    assert found["row span"].graded == "2 mm to 8 mm"
    assert found["speed"].used == "900 mm/s"
    assert found["finest width"].used.startswith("5")  # the disc that just fits, 5 mm


@pytest.mark.parametrize(("width", "lengths"), [(24.0, (24.0, 8.0)), (1.0, (1.0, 8.0))])
def test_rows_beyond_the_graded_ask_for_their_span_and_a_graded_one(width, lengths):
    found = uses_of(box(0, 0, width, 6), replace(GRADED, tried=replace(TRIED, feature=(0.5, 30.0))))
    assert found["row span"].kind == "row-span"
    assert found["row span"].asked.lengths == lengths
    assert [one.kind for one in found.values() if one.what != "row span"] == [None] * 5


def test_rows_up_to_half_as_long_again_are_taken_to_be_alike():
    assert uses_of(box(0, 0, 12, 6))["row span"].kind is None
    assert uses_of(box(0, 0, 12.2, 6))["row span"].kind == "row-span"


def test_other_speeds_pitches_and_repeats_name_their_coupons():
    found = uses_of(box(0, 0, 8, 5), speed=1800.0, pitch=0.2, repeats=2)
    assert found["speed"].kind == "power-speed"
    assert found["speed"].asked.speeds == (1800.0,)
    assert found["pitch"].kind == "pitch"
    assert found["pitch"].asked.pitches == (0.2, 0.1)
    assert (found["repeats"].used, found["repeats"].kind) == ("2", "repeats")


def test_a_graded_coupon_of_repeats_closes_that_gap():
    trials = ({"coupon": "repeats-1", "definition": {"kind": "repeats"}},)
    found = uses_of(box(0, 0, 8, 5), replace(GRADED, trials=trials), repeats=2)
    assert found["repeats"].kind is None


def test_an_ungraded_filament_begins_with_power_and_speed():
    found = list(uses_of(box(0, 0, 8, 5), None).values())
    assert found[0].kind == "power-speed"
    assert {one.graded for one in found} == {"nothing", "no"}


def test_fine_places_ask_for_a_tip_of_their_width():
    found = uses_of(box(0, 0, 8, 0.5))
    assert found["finest width"].kind == "tip-width"
    assert found["finest width"].asked.lengths == (pytest.approx(0.5, abs=0.01),)


def test_the_coupon_that_is_named_can_be_made():
    gap = uses_of(box(0, 0, 20, 6))["row span"]
    bench = Bench(machine=MACHINE, filament=BENCH.filament)
    made = build(
        define(str(gap.kind), bench, plate=(90.0, 60.0), settings=SETTINGS, asked=gap.asked)
    )
    assert {cell.size["span"] for cell in made.cells} == {20.0, 8.0}
    assert len(made.cells) == 6
    assert made.artwork.layers[0].operation is Operation.ENGRAVE


def test_own_choices_come_first():
    usual = CouponOverrides(lengths=(20.0, 8.0), speeds=(900.0,))
    found = over(CouponOverrides(lengths=(5.0,)), usual)
    assert found == CouponOverrides(lengths=(5.0,), speeds=(900.0,))
