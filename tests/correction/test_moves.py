"""Moves of power: by (target / measured) to the power of 0.8, bounded, layer by layer."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from preprocess.correction.correct import corrected_powers
from preprocess.correction.moves import layer_tones, light_factors, moved_heat
from preprocess.errors import Refusal
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.photo.measured import MeasuredJob
from tests.correction.levels import in_levels


def test_factors_are_target_over_measured_to_the_power_of_0_8():
    # a tenth too hot: 1.1^-0.8 = 0.9266; a fifth too cool: 0.8^-0.8 = 1.1954
    assert light_factors(np.log([1.1, 0.8])) == pytest.approx([0.9266, 1.1954], abs=1e-4)


def test_one_round_goes_from_0_7_to_1_4_at_most():
    assert light_factors(np.log([3.0, 0.3])).tolist() == [0.7, 1.4]


@pytest.fixture(scope="module")
def halves():
    """Two levels side by side, 10 × 10 mm each, and a map of 0.5 mm over both."""
    settings = Settings(power=0.4, speed=400, pitch=0.1)
    areas = (box(0, 0, 10, 10), box(10, 0, 20, 10))
    artwork = in_levels("leaf", areas, settings, (1.0, 0.5), Page(width=20, height=10))
    tone = np.full((20, 40), -20.0)
    job = MeasuredJob(
        name="leaf.yaml",
        drawing="0" * 64,
        origin=(0.25, 0.25),
        step=0.5,
        ground=60.0,
        photos=(),
        tone=tone,
        index=np.ones((20, 40)),
        wider=np.ones((20, 40)),
        noise=0.5,
    )
    return artwork, job


def test_each_level_moves_by_its_own_mean(halves):
    artwork, job = halves
    heat = np.where(np.arange(40) < 20, 0.0, -4.0) * np.ones((20, 1))
    cool, hot = layer_tones(job, heat, artwork, -40.0)
    assert (cool.output.id, cool.count, cool.factor) == ("leaf-1", 400, 1.0)
    assert hot.tone == pytest.approx(-4.0)
    assert hot.factor == pytest.approx(np.exp(-0.8 * 0.1))
    after = moved_heat(job, heat, (cool, hot), -40.0, artwork)
    assert after[0, 0] == 0.0
    assert after[0, 39] == pytest.approx(-4.0 + 0.8 * 4.0)


def test_what_a_photo_cannot_tell_from_the_target_stays(halves):
    artwork, job = halves
    heat = np.where(np.arange(40) < 20, 0.0, -0.3) * np.ones((20, 1))
    assert [layer.factor for layer in layer_tones(job, heat, artwork, -40.0)] == [1.0, 1.0]


def test_a_layer_that_was_not_measured_is_left_out(halves):
    artwork, job = halves
    half = replace(job, tone=np.where(np.arange(40) < 20, -20.0, np.nan) * np.ones((20, 1)))
    found = layer_tones(half, np.zeros((20, 40)), artwork, -40.0)
    assert [layer.output.id for layer in found] == ["leaf-1"]


def test_greys_are_solved_anew_and_not_moved(halves):
    artwork, job = halves
    image = SimpleNamespace(cell=(0.1, 0.1))
    grey = replace(artwork, shapes=tuple(replace(s, grey=image) for s in artwork.shapes))
    x = 0.5 * np.arange(40)
    index = np.exp(0.2 * np.exp(-(((x - 10) / 2) ** 2))) * np.ones((20, 1))
    hot = replace(job, tone=-20 - 30 * np.log(index), index=index, wider=index**1.3)
    with pytest.raises(Refusal, match="a power for each cell"):
        corrected_powers(hot, grey, Bench())


def test_a_mark_that_turns_back_where_it_is_hot_gets_no_more_power(halves, monkeypatch):
    artwork, job = halves
    x = 0.5 * np.arange(40)
    index = np.exp(0.2 * np.exp(-(((x - 10) / 2) ** 2))) * np.ones((20, 1))
    weaker = replace(job, tone=-20 + 30 * np.log(index), index=index, wider=index**1.3)
    monkeypatch.setattr("preprocess.correction.measured_heat.toned_places", lambda *_: range(12))
    monkeypatch.setattr("preprocess.correction.measured_heat.slope_of_coupons", lambda *_: -30.0)
    bench = Bench(filament=Filament(name="moss-green PLA"))
    with pytest.raises(Refusal, match="chars or foams"):
        corrected_powers(weaker, artwork, bench, ("a trial",))
