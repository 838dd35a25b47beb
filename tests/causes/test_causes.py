"""Causes told from maps: closed forms first, then a sample of made ones."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.causes.causes import causes_of
from preprocess.causes.found import HEAT, LINES, PATCH, TILT
from preprocess.errors import Refusal
from preprocess.photo.measured import MeasuredJob
from tests.made_causes import made_job
from tests.photos.known import known_photo

STEP = 0.2
HIGH, WIDE = 75, 90


@pytest.fixture(scope="module")
def plain():
    """A part of 18 × 15 mm whose index falls and rises along x, with noise of 0.1 ΔL*."""
    x, y = np.meshgrid(STEP * np.arange(WIDE), STEP * np.arange(HIGH))
    index = 1 + 0.15 * np.exp(-(((x - 9) / 2) ** 2))
    wider = 1 + 0.2 * np.exp(-(((x - 9) / 2.6) ** 2))
    noise = np.random.default_rng(3).normal(0, 0.1, x.shape)
    job = MeasuredJob(
        name="fern.yaml",
        drawing="0" * 64,
        origin=(0.0, 0.0),
        step=STEP,
        ground=55.0,
        photos=(),
        tone=-20 + noise,
        index=index,
        wider=wider,
        noise=0.1,
    )
    return x, y, job


def with_tone(job, more):
    return replace(job, tone=job.tone + more)


def test_nothing_is_named_where_the_tone_is_even(plain):
    found = causes_of(plain[2])
    assert found.found == ()
    assert found.sentences == ("The mark is uneven by 0.1 ΔL*, which the eye hardly sees.",)
    assert np.nanmax(np.abs(found.heat)) == 0


def test_heat_is_told_and_its_tone_is_that_of_the_index(plain):
    _, _, job = plain
    heat = -40 * np.log(job.index)
    found = causes_of(with_tone(job, heat))
    assert list(found.parts) == [HEAT]
    assert found.parts[HEAT] == pytest.approx(heat.std(), rel=0.03)
    assert found.heat == pytest.approx(heat - np.median(heat), abs=0.2)
    assert found.sentences[0].startswith(
        "Most of it follows the drawing: heavier where heat gathers ("
    )


def test_lighter_where_heat_gathers_is_a_weaker_dark_mark(plain):
    _, _, job = plain
    said = causes_of(with_tone(job, 40 * np.log(job.index))).sentences[0]
    assert "weaker where heat gathers" in said


def test_a_plane_is_a_tilt(plain):
    x, y, job = plain
    slope = 0.3 * x - 0.2 * y
    found = causes_of(with_tone(job, slope))
    assert list(found.parts) == [TILT]
    assert found.parts[TILT] == pytest.approx(slope.std(), rel=0.02)
    assert "tilt" in found.sentences[0]
    assert found.sentences[-1].startswith("Check that the part lies flat")


def test_a_plane_that_the_index_follows_too_asks_for_a_turned_part(plain):
    x, _, job = plain
    alike = replace(job, index=1 + 0.01 * x + 0.002 * np.sin(x), wider=1 + 0.012 * x)
    found = causes_of(with_tone(alike, 0.4 * x))
    assert found.alike > 0.9
    assert any("turned by 180°" in said for said in found.sentences)


def test_a_bell_is_a_patch_at_its_place(plain):
    x, y, job = plain
    bell = 6 * np.exp(-((x - 15) ** 2 + (y - 3) ** 2) / (2 * 2.5**2))
    found = causes_of(with_tone(job, bell))
    assert list(found.parts) == [PATCH]
    assert "a patch near the top right" in found.sentences[0]
    assert "clean the lens" in found.sentences[-1]


def test_lines_are_told_with_their_distance(plain):
    x, y, job = plain
    turn = np.radians(45)
    waves = 2 * np.sin(2 * np.pi * (x * np.cos(turn) + y * np.sin(turn)) / 0.84)
    found = causes_of(with_tone(job, waves))
    assert list(found.parts) == [LINES]
    assert found.parts[LINES] == pytest.approx(2 / np.sqrt(2), rel=0.03)
    assert "lines, 0.84 mm apart" in found.sentences[0]


def test_lines_count_as_high_as_in_the_plastic(plain):
    """Edges of 0.4 mm and the averages of the map blur lines 0.84 mm apart to a third."""
    x, _, job = plain
    blur = np.hypot(0.4 / 2.563, 0.12)
    seen = float(np.exp(-2 * (np.pi * blur / 0.84) ** 2))
    assert seen == pytest.approx(0.34, abs=0.005)
    job = replace(job, photos=(replace(known_photo("fern.jpg", "ab" * 32), edge=0.4),))
    found = causes_of(with_tone(job, 2 * seen * np.sin(2 * np.pi * x / 0.84)))
    assert list(found.parts) == [LINES]
    # a sine of 2 ΔL* in the plastic is 1.4 (rms); 0.34 of it is less than what is named
    assert found.parts[LINES] == pytest.approx(2 / np.sqrt(2), rel=0.05)
    assert "(1.4 ΔL*; the photo blurs them to 0.5)" in found.sentences[0]


def test_two_causes_are_told_apart_and_the_larger_is_first(plain):
    x, _, job = plain
    heat = -40 * np.log(job.index)
    found = causes_of(with_tone(job, heat + 0.3 * x))
    assert set(found.parts) == {HEAT, TILT}
    assert list(found.parts.values()) == sorted(found.parts.values(), reverse=True)
    assert found.sentences[1].startswith("Another part ")


def test_a_cause_that_adds_nothing_beside_others_leaves_the_next_likely_set(plain):
    """A taper whose heat is nearly a slope: heat and tilt together leave each other no share."""
    x, _, job = plain
    taper = replace(job, index=np.exp(0.008 * x), wider=np.exp(0.011 * x + 0.0002 * x**2))
    found = causes_of(with_tone(taper, -40 * np.log(taper.wider)))
    assert list(found.parts) == [HEAT]


def test_gaps_in_the_map_do_no_harm(plain):
    x, y, job = plain
    holed = np.where((x - 5) ** 2 + (y - 5) ** 2 < 4, np.nan, job.tone - 40 * np.log(job.index))
    found = causes_of(replace(job, tone=holed))
    assert list(found.parts) == [HEAT]
    assert np.isnan(found.heat[25, 25])


def test_too_few_values_are_refused(plain):
    few = np.full((HIGH, WIDE), np.nan)
    few[:3, :30] = -20
    with pytest.raises(Refusal, match="holds 90 measured values"):
        causes_of(replace(plain[2], tone=few))


def test_made_maps_are_mostly_told_exactly():
    """Six of the made maps; `python -m tests.made_causes 120 7000` judges 120 of them."""
    told = []
    for seed in range(6):
        causes = CAUSES_OF_SIX[seed]
        job = made_job("blade", causes, np.random.default_rng(seed))
        told.append((causes, causes_of(job).parts))
    assert sum(set(parts) == causes for causes, parts in told) >= 5
    assert all(next(iter(parts), None) in causes for causes, parts in told)


CAUSES_OF_SIX = tuple(
    frozenset(some) for some in ([HEAT], [TILT], [LINES], [PATCH], [HEAT, LINES], [LINES, PATCH])
)
