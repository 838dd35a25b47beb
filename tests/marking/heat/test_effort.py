"""How finely heat is computed: the bound holds for any job, and is told."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from preprocess.marking.heat import effort
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.index_images import lit_values
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, triangle

EACH = Bench(machine=Machine(turnaround=1.2e-3, fly_back=2500.0, spot=0.08))
ALL = replace(EACH, machine=replace(EACH.machine, raster_groups=RasterGroups.EACH_COLOUR))
FAST = replace(ENGRAVED, speed=900.0)


def seeds(count, layer="seeds"):
    """A staggered seed-head, each seed a path of its own."""
    return [
        shape(Point(2 * i + j % 2, 2 * j).buffer(0.5, 4), layer, name=f"seed-{i}-{j}")
        for j in range(count)
        for i in range(count)
    ]


def solved_cells(heat):
    return sum(image.lit.sum() for image in heat.images)


def test_small_jobs_are_the_same_bounded_or_not():
    art = artwork(shape(triangle(width=8, height=10)), *seeds(3), settings=FAST)
    full, bounded = (heat_index(art, EACH, effort=e) for e in (Effort.FULL, Effort.BOUNDED))
    for one, other in zip(full.images, bounded.images, strict=True):
        assert np.array_equal(one.index, other.index, equal_nan=True)
    assert (bounded.every, bounded.wide_columns) == (1, None)


@pytest.mark.parametrize("side", [20, 40])
def test_solved_cells_stay_within_the_bound_however_large_the_job(side, monkeypatch):
    monkeypatch.setattr(effort, "BOUND", 8000)
    found = heat_index(artwork(shape(box(0, 0, side, side))), ALL, effort=Effort.BOUNDED)
    assert solved_cells(found) <= 1.1 * 8000
    assert found.wide_columns > 0.15


def test_of_many_groups_some_are_solved_and_stand_for_all(monkeypatch):
    art = artwork(*seeds(10), shape(triangle(30, 0, 8, 10), "fronds"), settings=FAST)
    full = heat_index(art, EACH)
    monkeypatch.setattr(effort, "GROUPS", 26)
    found = heat_index(art, EACH, effort=Effort.BOUNDED)
    assert found.every == 4
    assert len([i for i in found.images if i.output == "seeds"]) == 25
    assert len([i for i in found.images if i.output == "fronds"]) == 1, "no layer goes missing"
    # those that are solved are warmed by all that came before them
    by_step = {image.step: image for image in full.images}
    for image in found.images:
        same = by_step[image.step].index
        assert np.array_equal(image.index, same, equal_nan=True)
    assert lit_values(found.images)[1].sum() == pytest.approx(
        lit_values(full.images)[1].sum(), rel=0.01
    )
    assert found.median == pytest.approx(full.median, rel=0.02)


def test_it_is_told_how_and_where_the_full_answer_is(monkeypatch):
    monkeypatch.setattr(effort, "GROUPS", 10)
    made = artwork(*seeds(6), settings=FAST)
    told = predict(made, EACH, effort=Effort.BOUNDED, surely=False).findings
    (one,) = [f for f in told if f.code == "coarser-heat"]
    assert one.message.endswith("is computed of one in 4 groups")
    assert "evenmark predict" in one.remedy


def test_progress_is_told_to_the_end():
    shares = []
    predict(artwork(*seeds(4), settings=FAST), EACH, surely=False, tell=shares.append)
    assert len(shares) >= 16
    assert sum(shares) == pytest.approx(1.0)


def test_figures_of_a_drawing_with_slivers_are_those_of_fine_cells(monkeypatch):
    """Hairs of 7 to 33 µm beside a leaf: brute force in cells of 10 µm.

    The beam is wide, so that it hardly matters where in a cell its index is taken.
    """
    wide = replace(ALL, machine=replace(ALL.machine, spot=0.4))
    hairs = [box(12 + 0.7 * n, 1, 12.007 + 0.7 * n + 0.0026 * n, 9) for n in range(11)]
    leaf = Polygon([(1, 1), (5, 0), (10, 4), (9, 9), (4, 10)])
    art = artwork(shape(area_of(leaf, *hairs)), settings=FAST)
    found = heat_index(art, wide)
    monkeypatch.setattr(effort, "_STEPS", (0.01, 0.01))
    brute = heat_index(art, wide)
    index = np.concatenate([i.index[i.lit] for i in brute.images])
    weight = np.concatenate([i.areas[i.lit] for i in brute.images])
    mean = np.average(index, weights=weight)
    spread = np.sqrt(np.average((index - mean) ** 2, weights=weight))
    assert found.cv == pytest.approx(spread / mean, rel=0.05)
    order = np.argsort(index)
    middle = index[order][np.searchsorted(np.cumsum(weight[order]), 0.5 * weight.sum())]
    assert found.median == pytest.approx(middle, rel=0.01)
    lit = sum(i.areas.sum() for i in found.images)
    assert lit == pytest.approx(sum(i.areas.sum() for i in brute.images), rel=1e-4)
