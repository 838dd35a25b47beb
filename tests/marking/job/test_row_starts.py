"""What layers lose where rows begin, by hand."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.row_starts import lost_light, row_start_findings
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import Beam
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from tests.marking.drawn import area_of, artwork, shape, square
from tests.marking.struck import GALVO, settings

SLOW_START = dataclasses.replace(GALVO, power_ramp=0.15e-3, laser_on_delay=0.05e-3)


def told(art, machine):
    plan = plan_of(art, machine)
    return list(row_start_findings(plan, schedule_of(plan, machine)))


@pytest.mark.parametrize(
    ("long", "lost"),
    # at 1000 mm/s the light is 0.05 mm late, then rises over 0.15 mm
    [
        (0.03, 0.03),
        (0.05, 0.05),
        (0.125, 0.05 + 0.075 - 0.075**2 / 0.3),
        (0.2, 0.125),
        (5.0, 0.125),
    ],
)
def test_a_run_loses_its_delay_and_half_its_rise(long, lost):
    beam = Beam(ramp=0.15e-3, delay=0.05e-3)
    assert lost_light(np.array([long]), 1000.0, beam) == pytest.approx([lost])


def test_a_layer_of_short_rows_says_what_it_loses():
    (finding,) = told(artwork(shape(square(0, 0, 1)), settings=settings(900.0)), SLOW_START)
    assert finding.code == "rows-begin-weak"
    assert "artwork loses 11.2 % of its light" in finding.message
    assert "0.045 mm late and rises over 0.135 mm" in finding.message


def test_long_rows_and_an_instant_laser_are_not_worth_a_word():
    assert told(artwork(shape(square(0, 0, 20)), settings=settings(900.0)), SLOW_START) == []
    assert told(artwork(shape(square(0, 0, 1)), settings=settings(900.0)), GALVO) == []


def test_rows_shorter_than_the_delay_are_counted():
    speck = area_of(box(0, 0, 5, 1), box(8, 0, 8.04, 1))
    codes = {f.code: f for f in told(artwork(shape(speck), settings=settings(900.0)), SLOW_START)}
    assert "10 rows of artwork, up to 0.04 mm long, get no light" in (
        codes["rows-without-light"].message
    )


def test_a_prediction_tells_it():
    art = artwork(shape(square(0, 0, 1)), settings=settings(900.0))
    codes = {f.code for f in predict(art, Bench(machine=SLOW_START), surely=False).findings}
    assert "rows-begin-weak" in codes
