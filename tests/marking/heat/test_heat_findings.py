"""Places that will be too heavy or too weak: where, why, and what to do."""

import dataclasses
import re

import numpy as np
import pytest
from scipy import ndimage
from shapely import box

from preprocess.marking.heat.heat_findings import heat_findings
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.index_regions import cells_away_from_ends
from preprocess.marking.heat.layer_power import layer_powers
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Direction
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import Machine
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, square, triangle

GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0, spot=0.08)
GREEN = Filament(name="green", reference=Reference(), window=Window(weak=0.8, heavy=1.15))
ONE_WAY = dataclasses.replace(ENGRAVED, power=0.5, speed=900.0)
TWO_WAY = dataclasses.replace(ONE_WAY, direction=Direction.TWO_WAY)


def told(*shapes, settings=ONE_WAY, filament=GREEN):
    art = artwork(*shapes, settings=settings)
    bench = Bench(machine=GALVO, filament=filament)
    planned = plan_of(art, GALVO)
    timed = schedule_of(planned, GALVO)
    found = heat_index_of_plan(planned, timed, art, bench)
    powers = layer_powers(found, planned, timed, art, bench)
    return heat_findings(found, planned, timed, powers), found


def named_power(finding):
    """The power in per cent that a remedy names for the whole layer."""
    return float(re.search(r"set ([0-9.]+) % for the whole layer", finding.remedy)[1])


def test_a_patch_like_the_reference_is_not_spoken_of():
    found, _ = told(shape(square(0, 0, 8)))
    assert [f.code for f in found if f.code != "too-weak"] == []


def test_the_narrow_end_of_a_leaf_is_named_with_its_rows_and_remedies():
    leaf = dataclasses.replace(
        shape(triangle(x=10, y=5)),
        sources=(Source(id="frond-3", geometry=area_of(triangle(10, 5))),),
    )
    found, heat = told(leaf)
    heavy = [f for f in found if f.code == "too-heavy"]
    assert len(heavy) == 1
    x, y = heavy[0].spot
    # the tip lies at (28, 55); rows are shorter than 60 % of 36 mm from y = 25 on
    assert (x, y) == (pytest.approx(28, abs=1), pytest.approx(53, abs=2))
    assert f"index {heat.largest:.2f}" in heavy[0].message
    assert "against 36.00 mm in the widest row" in heavy[0].message
    assert heavy[0].remedy.startswith("evenmark advise")  # nothing is told that was not simulated
    assert heavy[0].elements == ("frond-3",)


def test_of_equal_places_the_first_is_named():
    """The first row has no heat from earlier ones: all its cells but the ends are alike."""
    found, heat = told(shape(square(0, 0, 8)))
    (weak,) = [f for f in found if f.code == "too-weak"]
    (patch,) = heat.images
    lit = np.flatnonzero(cells_away_from_ends(patch)[0])
    x, y = patch.points
    assert np.ptp(patch.index[0, lit]) < 1e-9
    assert weak.spot == (x[0, lit[0]], y[0, lit[0]])


def test_the_area_of_a_place_is_what_lies_over_the_window():
    found, heat = told(shape(triangle()))
    (patch,) = heat.images
    number, count = ndimage.label(patch.index > 1.15)
    largest = np.bincount(number.ravel(), patch.areas.ravel())[1:].max()
    (heavy,) = [f for f in found if f.code == "too-heavy"]
    assert count >= 1
    assert f"over {largest:.2f} mm²" in heavy.message


def test_ends_of_two_way_rows_are_named_as_such():
    settings = dataclasses.replace(TWO_WAY, power=0.53)
    found, _ = told(shape(box(0, 0, 40, 6)), settings=settings)
    heavy = [f for f in found if f.code == "too-heavy"]
    assert heavy
    assert all("at their ends" in f.message and "one-way" not in f.remedy for f in heavy)
    assert {f.spot[0] < 1 or f.spot[0] > 39 for f in heavy} == {True}


def test_too_much_everywhere_asks_for_less_power():
    settings = dataclasses.replace(ONE_WAY, power=0.8)
    found, heat = told(shape(square(0, 0, 8)), settings=settings)
    heavy, layer = (f for c in ("too-heavy", "layer-power") for f in found if f.code == c)
    assert "too much" in heavy.message
    assert named_power(layer) == named_power(heavy)
    # between the powers at which the median reaches the two ends of the window
    assert 80 * 0.8 / heat.median < named_power(heavy) < 80 * 1.15 / heat.median


def test_too_little_everywhere_asks_for_more():
    settings = dataclasses.replace(ONE_WAY, power=0.3)
    found, _ = told(shape(square(0, 0, 8)), settings=settings)
    weak = [f for f in found if f.code == "too-weak"]
    assert len(weak) == 1
    assert "first rows" in weak[0].message or "too little" in weak[0].message


def test_the_first_rows_of_a_cold_part_are_named_as_such():
    found, _ = told(shape(box(0, 0, 30, 10)))
    weak = [f for f in found if f.code == "too-weak"]
    assert weak
    assert all("find the plastic cold" in f.message for f in weak)
    assert all(f.spot[1] < 1 for f in weak)


def test_the_fading_rims_of_rows_are_no_weak_places():
    _, heat = told(shape(box(0, 0, 30, 10)), shape(box(40, 0, 40.2, 10), name="hair"))
    wide, hair = heat.images
    inner = cells_away_from_ends(wide)
    assert not inner[:, :3].any()
    assert not inner[:, -3:].any()
    assert inner[:, 3:-3].all()
    assert (cells_away_from_ends(hair) == hair.lit).all()


def test_without_grades_places_are_only_ranked():
    found, heat = told(shape(triangle()), filament=None)
    assert found
    assert {f.severity for f in found} == {"note"}
    assert all("uncalibrated: ranking only" in f.message for f in found)
    heavy = next(f for f in found if f.code == "too-heavy")
    assert f"({heat.largest / heat.median:.2f} times the median)" in heavy.message


def test_many_places_are_counted_after_the_first_three():
    both = dataclasses.replace(ONE_WAY, power=0.6)
    many = area_of(box(0, 0, 60, 3), *[box(4 * i, 3 + i, 4 * i + 1, 3.9 + i) for i in range(1, 8)])
    found, _ = told(shape(many), settings=both)
    named = [f for f in found if f.code == "too-heavy"]
    rest = [f for f in found if f.code == "more-too-heavy"]
    assert len(named) == 3
    assert rest
    assert "smaller places" in rest[0].message


def test_repeats_over_an_uneven_mark_seldom_help():
    settings = dataclasses.replace(ONE_WAY, repeats=2)
    found, _ = told(shape(triangle()), settings=settings)
    assert "repeat-over-uneven" in {f.code for f in found}


def test_findings_are_the_same_every_time():
    one, two = (told(shape(triangle()))[0] for _ in range(2))
    assert one == two


@pytest.mark.parametrize("power", [0.3, 0.45, 0.5, 0.6, 0.8])
def test_no_two_remedies_of_a_layer_contradict(power):
    settings = dataclasses.replace(ONE_WAY, power=power)
    found, _ = told(shape(triangle()), settings=settings)
    places = {f.remedy for f in found if f.code in {"too-heavy", "too-weak", "layer-power"}}
    assert len({named for text in places for named in re.findall(r"set ([0-9.]+) %", text)}) <= 1
    for word in ("equalize-width", "one-way", "bar", "thicken"):
        assert not any(word in remedy for remedy in places)


def test_more_power_is_not_asked_for_where_the_hottest_place_would_burn():
    hot = Filament(
        name="hot", reference=Reference(power=0.62), window=Window(weak=0.8, heavy=1.02, molten=1.1)
    )
    found, _ = told(shape(triangle()), filament=hot)
    (layer,) = [f for f in found if f.code == "layer-power"]
    assert not layer.remedy.startswith("set ")
    assert "more power alone melts it" in layer.remedy
    assert not any(f.remedy.startswith("set ") for f in found)
