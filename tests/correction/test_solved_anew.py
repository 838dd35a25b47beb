"""Solving anew: what one correction allows, and what is not worth a part."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

from preprocess.correction.choice import corrected_job
from preprocess.correction.solved_anew import Hardly, solved_anew
from preprocess.errors import Refusal
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Tried
from preprocess.photo.map_grid import grid_of, index_map
from preprocess.photo.measured import MeasuredJob
from tests.correction.levels import in_levels

SLOPE = -40.0
FERN = Polygon([(0, 0), (16, 0), (16, 3), (9, 4), (8.6, 9), (7.4, 9), (7, 4), (0, 3)])
BENCH = Bench(filament=Filament(name="moss-green PLA", polymer="PLA", spread=0.3))


def fern(power, stem=None):
    """A leaf in two levels, its stem at a power of its own."""
    settings = Settings(power=power, speed=400.0, pitch=0.1, angle=0.0)
    halves = (
        FERN.intersection(Polygon([(0, 0), (16, 0), (16, 4), (0, 4)])),
        FERN.difference(Polygon([(0, 0), (16, 0), (16, 4), (0, 4)])),
    )
    shares = 1.0, (stem or power) / power
    return in_levels("fern", halves, settings, shares, Page(width=16, height=9))


@pytest.fixture(scope="module")
def part():
    """The fern as marked, and its map: its plastic spreads heat over 0.6 mm."""
    artwork = fern(0.4)
    grid = grid_of(FERN.bounds)
    index, warm = index_map(artwork, BENCH, grid)
    wider, _ = index_map(artwork, BENCH, grid, spread=0.6)
    log = np.where(warm, np.log(wider), np.nan)
    noise = np.random.default_rng(4).normal(0, 0.2, log.shape)
    tone = -25 + SLOPE * (log - np.nanmedian(log)) + noise
    job = MeasuredJob(
        name="fern.yaml",
        drawing="0" * 64,
        origin=grid.origin,
        step=grid.step,
        ground=60.0,
        photos=(),
        tone=tone,
        index=index,
        wider=wider,
        noise=0.2,
    )
    return artwork, job


def test_less_power_on_the_hot_stem_is_taken(part):
    artwork, job = part
    asked = []

    def at_spread(spread, _interval):
        asked.append(spread)
        return fern(0.4, 0.34)

    found = solved_anew(job, artwork, BENCH, at_spread)
    assert found.spread == asked[0] == pytest.approx(found.learned.shown, rel=0.01)
    assert 0.3 < found.spread < 0.75
    assert found.was == {"fern-1": (0.4, 0.4), "fern-2": (0.4, 0.4)}
    assert found.now["fern-2"] == pytest.approx((0.34, 0.34))
    assert found.after < 0.9 * found.before


def test_a_correction_beyond_its_bounds_goes_half_the_way(part):
    artwork, job = part
    asked = []

    def at_spread(spread, _interval):
        asked.append(spread)
        return fern(0.4, 0.2 if len(asked) == 1 else 0.34)

    found = solved_anew(job, artwork, BENCH, at_spread)
    # half the way in logarithms
    assert found.spread == pytest.approx((0.3 * found.learned.shown) ** 0.5, rel=0.01)
    assert [one.code for one in found.findings] == ["slope-from-map", "correction-bounded"]


def test_powers_stay_within_those_of_graded_cells(part):
    artwork, job = part
    bench = replace(BENCH, filament=replace(BENCH.filament, tried=Tried(power=(0.36, 0.6))))
    with pytest.raises(Refusal, match="more than one correction allows"):
        solved_anew(job, artwork, bench, lambda *_: fern(0.4, 0.34))


def test_what_changes_nothing_is_not_worth_a_part(part):
    artwork, job = part
    with pytest.raises(Hardly, match=r"where 0\.3 mm was believed"):
        solved_anew(job, artwork, BENCH, lambda *_: artwork)


def test_where_solving_anew_changes_nothing_powers_are_moved(part):
    artwork, job = part
    found = corrected_job(job, artwork, BENCH, lambda *_: artwork)
    leaf, stem = found.powers
    assert stem.now < leaf.now
