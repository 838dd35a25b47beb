"""Zones by heat: crumbs join, solids stay whole unless the index gains more than the seam steps."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from preprocess.marking.heat.index_images import IndexImage
from preprocess.marking.job.plan import plan_of
from preprocess.passes.tag_power.settled_zones import settle_zones
from tests.marking.drawn import artwork, shape
from tests.marking.struck import GALVO

SPOT = 0.06
SIDE = 10.0


def image(index):
    """Cells of 0.05 mm over a square of 10 mm; `index` of v."""
    middles = np.arange(0.025, SIDE, 0.05)
    values = np.repeat(index(middles)[:, None], len(middles), axis=1)
    lit = np.ones_like(values, dtype=bool)
    return IndexImage(
        step=0,
        output="artwork",
        part=None,
        angle=0.0,
        v=middles,
        u=middles,
        lit=lit,
        index=values,
        spike=values,
        residual=values,
        share=np.ones_like(values, dtype=np.float32),
        cell=0.0025,
    )


def settled(area, zones, index, powers=None):
    (group,) = plan_of(artwork(shape(area)), GALVO).steps
    made = [[[(level, MultiPolygon([zone])) for level, zone in zones]]]
    ((found,),), seams = settle_zones([group], made, [[image(index)]], powers, SPOT)
    assert sum(zone.area for _, zone in found) == pytest.approx(area.area, rel=1e-12)
    whole = shapely.union_all([zone for _, zone in found])
    assert whole.symmetric_difference(area).area < 1e-9
    return dict(found), seams


def bands(*borders):
    edges = [0.0, *borders, SIDE]
    return [
        (level, box(0, top, SIDE, bottom)) for level, (top, bottom) in enumerate(pairwise(edges), 1)
    ]


SQUARE = box(0, 0, SIDE, SIDE)


def rising(v):
    """From 1 to 1.3, evenly on a logarithmic scale."""
    return 1.3 ** (v / SIDE)


def test_levels_that_even_out_more_than_they_step_stay():
    """Before 1.3^0.9 = 1.27; after 1.3^(0.9 / 3) = 1.08, by steps of 1.3^(1 / 3) = 1.09."""
    found, seams = settled(SQUARE, bands(SIDE / 3, 2 * SIDE / 3), rising)
    assert sorted(found) == [1, 2, 3]
    assert seams.kept == 0
    assert seams.steps == pytest.approx([1.3 ** (1 / 3)], rel=2e-3)
    assert seams.text() == "; seams inside 1 wide area step by up to 9 %"


def test_a_belt_that_evens_out_less_than_it_steps_is_taken_back():
    """The hottest tenth: the step is 1.3^0.5 = 1.14, and nine tenths are as uneven as before."""
    found, seams = settled(SQUARE, bands(0.9 * SIDE), rising)
    assert list(found) == [1]
    assert found[1].equals_exact(MultiPolygon([SQUARE]), 0)
    assert (seams.steps, seams.kept) == ((), 1)
    assert "1 wide area stays whole" in seams.text()


def test_a_tip_keeps_its_level_for_its_seam_is_short():
    """The same hottest tenth of a triangle: the seam is a tenth as long as the base."""
    tip = Polygon([(0, 0), (SIDE, 0), (SIDE / 2, SIDE)])
    low, high = (tip.intersection(box(0, a, SIDE, b)) for a, b in ((0, 8.5), (8.5, SIDE)))
    found, seams = settled(low.union(high), [(1, low), (2, high)], rising)
    assert sorted(found) == [1, 2]
    assert seams.kept == 0


def test_powers_that_are_given_are_the_steps():
    found, seams = settled(SQUARE, bands(SIDE / 2), rising, powers=(1.0, 0.5))
    assert list(found) == [1]
    assert seams.kept == 1
    found, seams = settled(SQUARE, bands(SIDE / 2), rising, powers=(1.0, 0.92))
    assert seams.steps == pytest.approx([1 / 0.92])


def test_a_sliver_and_a_speck_join_their_neighbour():
    """A top of 0.05 mm, less than two spots, and a peak of 0.4 × 0.4 mm, less than 0.5 mm²."""
    peak = Polygon([(4, 1), (4, 0.6), (4.4, 0.6), (4.4, 1), (SIDE, 1), (SIDE, 9), (0, 9), (0, 1)])
    zones = [
        (1, box(0, 1.0, SIDE, 8.95)),
        (2, box(0, 8.95, SIDE, 9)),
        (2, box(4, 0.6, 4.4, 1)),
    ]
    found, seams = settled(peak, zones, rising)
    assert list(found) == [1]
    assert (seams.steps, seams.kept) == ((), 0)


def test_what_is_small_altogether_keeps_its_level():
    dot = box(1, 1, 1.4, 1.4)
    found, _ = settled(dot, [(2, dot)], rising)
    assert list(found) == [2]


def test_a_crumb_joins_along_its_longest_border():
    """An L of 0.2 mm²: 0.5 mm of border with level 3 beside it, 0.4 mm with level 1 below."""
    area = box(0, 0, SIDE, SIDE)
    crumb = box(0, 0, 0.4, 0.5)
    right = box(0.4, 0, SIDE, 0.5)
    below = box(0, 0.5, SIDE, SIDE)
    found, _ = settled(area, [(1, below), (2, crumb), (3, right)], rising, (1.0, 0.9, 0.88))
    assert 2 not in found
