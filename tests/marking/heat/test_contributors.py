"""What else warmed a hot place: named from the share that plain superposition gives."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.marking.heat import contributors as neighbours
from preprocess.marking.heat.contributors import ContributorSearch
from preprocess.marking.heat.effort import Effort
from preprocess.marking.prediction import predict
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import Machine
from tests.marking.brute import moving, rise
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape

GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0, spot=0.08)
GREEN = Filament(name="green", reference=Reference(), window=Window(weak=0.5, heavy=1.15))
BENCH = Bench(machine=GALVO, filament=GREEN)
QUICK = dataclasses.replace(ENGRAVED, power=0.6, speed=900.0)

FIRST, SECOND = box(0, 0, 3, 1), box(3.02, 0, 6, 1)
FAR = box(12, 0, 15, 1)


@pytest.fixture
def all_matters(monkeypatch):
    """Side by side the share is small: let it count all the same."""
    monkeypatch.setattr(neighbours, "_MATTERS", 1e-4)


def job(*geometries, layers=None, **changes):
    names = layers or ["artwork"] * len(geometries)
    drawn = [
        shape(g, layer, name=f"leaf-{i}")
        for i, (g, layer) in enumerate(zip(geometries, names, strict=True), 1)
    ]
    return artwork(*drawn, settings=dataclasses.replace(QUICK, **changes))


def giver(art, step, spot, bench=BENCH):
    found = predict(art, bench, effort=Effort.PREVIEW, surely=False)
    (patch,) = (p for p in found.heat.images if p.step == step)
    told = ContributorSearch(plan=found.plan, schedule=found.schedule, artwork=art, bench=bench)
    return told.at(patch, spot), found


@pytest.mark.parametrize("angle", [0.0, 90.0, 30.0])
@pytest.mark.parametrize("second", [SECOND, box(2, 0, 6, 1)], ids=["beside", "on top"])
@pytest.mark.usefixtures("all_matters")
def test_the_share_is_that_of_plain_superposition(angle, second):
    art = job(FIRST, second, angle=angle)
    spot = (3.1, 0.2) if second is SECOND else (2.5, 0.4)
    told, found = giver(art, 1, spot)
    plastic = thermal_medium_of(GREEN, GALVO)
    every = exposures_of(found.plan, found.schedule, plastic.watts, None)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    point = (spot[0] * c - spot[1] * s, spot[0] * s + spot[1] * c)
    last = every[1]
    row = np.argmin(np.abs(last.y - point[1]))
    (run,) = np.flatnonzero(last.row == row)
    passed = last.entered[run] + max(0.0, point[0] - last.start[run]) / 900
    before = rise(every[:1], plastic, point, [passed], angle=angle)[0]
    under = [
        moving(last, run, plastic, point, passed + lag * plastic.sigma / 900, plastic.smooth)
        for lag in np.linspace(0, 6, 61)
    ]
    own = rise([last], plastic, point, [passed], angle=angle)[0] - under[0] + max(under)
    assert told.step == 0
    assert told.share == pytest.approx(before / (before + own), rel=1e-3)


@pytest.mark.usefixtures("all_matters")
def test_what_lies_far_away_or_comes_later_gives_nothing():
    assert giver(job(FAR, SECOND), 1, (3.1, 0.2))[0] is None
    assert giver(job(FIRST, SECOND), 0, (2.9, 0.2))[0] is None
    assert giver(job(SECOND), 0, (3.1, 0.2))[0] is None


@pytest.mark.usefixtures("all_matters")
def test_another_body_gives_nothing():
    parts = (area_of(box(-1, -1, 3.01, 2)), area_of(box(3.015, -1, 9, 2)))
    art = dataclasses.replace(job(FIRST, SECOND), parts=parts)
    assert giver(art, 1, (3.1, 0.2))[0] is None


def test_a_small_share_is_not_worth_a_word():
    assert giver(job(FIRST, SECOND), 1, (3.1, 0.2))[0] is None


def test_a_heavy_place_names_the_neighbour_that_warmed_it():
    art = job(box(0, 0, 3, 1), box(0, 0, 3, 1), layers=["moth", "seeds"])
    heavy = [f for f in predict(art, BENCH, surely=False).findings if f.code == "too-heavy"]
    on_top = [f for f in heavy if f.message.startswith("seeds")]
    assert on_top
    assert all("% of its heat comes from moth" in f.message for f in on_top)
    assert not [f for f in heavy if f.message.startswith("moth") and "left by" in f.message]


def test_within_a_layer_the_neighbour_is_named_by_its_path():
    art = job(box(0, 0, 3, 1), box(0, 0, 3, 1))
    heavy = [f for f in predict(art, BENCH, surely=False).findings if f.code == "too-heavy"]
    assert any("comes from leaf-1" in f.message for f in heavy)
