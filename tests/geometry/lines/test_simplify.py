"""Fewer points: a true bound, shared borders, no crossing, the same for moved and turned art."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.lines.border_network import border_network, rebuild_parts
from preprocess.geometry.lines.simplify import Simplifier


def count(shapes):
    return int(sum(shapely.get_num_coordinates(shape) for shape in shapes))


def apart(one, other, step=0.05):
    """Hausdorff distance of two outlines, both cut fine; shares nothing with the code tested."""
    a, b = (shapely.segmentize(g.boundary if g.area else g, step) for g in (one, other))
    there = shapely.distance(shapely.points(shapely.get_coordinates(a)), b).max()
    back = shapely.distance(shapely.points(shapely.get_coordinates(b)), a).max()
    return max(there, back)


def wavy(seed, radius=6.0, points=160):
    rng = np.random.default_rng(seed)
    t = np.linspace(0, 2 * math.pi, points, endpoint=False)
    r = radius + sum(
        rng.uniform(0.05, 0.6) * np.cos(k * t + rng.uniform(0, 7)) for k in range(2, 9)
    )
    return Polygon(np.round(np.column_stack((r * np.cos(t), r * np.sin(t))), 6))


def cut_up(area, seed, pieces=4):
    """An area in neighbouring pieces that share their borders bit for bit."""
    rng = np.random.default_rng(seed)
    x = np.linspace(-12, 12, 120)
    lines = [
        rotate(LineString(np.column_stack((x, 0.3 * np.sin(5 * x) + y))), angle, origin=(0, 0))
        for y, angle in zip(rng.uniform(-3, 3, pieces), rng.uniform(0, 180, pieces), strict=True)
    ]
    noded = shapely.union_all([area.boundary, *lines])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    return [as_area(f) for f in faces if area.contains(f.point_on_surface())]


SEEDS, TOLERANCES = st.integers(0, 10_000), st.sampled_from([0.003, 0.02, 0.1, 0.5, 2.0])


def test_a_circle_keeps_as_many_chords_as_its_sagitta_asks():
    """A chord over the angle a lies r (1 − cos a/2) off its arc; halving needs at most twice."""
    t = np.linspace(0, 2 * math.pi, 4000, endpoint=False)
    disc = as_area(Polygon(np.column_stack((10 * np.cos(t), 10 * np.sin(t)))))
    for tolerance in (0.5, 0.05, 0.005):
        ((thin,), moved) = Simplifier([disc]).to(tolerance)
        fewest = math.pi / math.acos(1 - tolerance / 10)
        assert fewest * 0.99 <= count([thin]) - 1 <= 2 * fewest + 2
        assert 0 < moved <= tolerance
        assert apart(disc, thin) == pytest.approx(moved, abs=1e-4)


@settings(max_examples=12, deadline=None)
@given(SEEDS, TOLERANCES)
def test_no_outline_moves_farther_than_the_tolerance(seed, tolerance):
    before = as_area(wavy(seed) - wavy(seed + 1, 3.0))
    ((after,), moved) = Simplifier([before]).to(tolerance)
    assert after.is_valid
    assert len(after.geoms) == len(before.geoms)
    assert apart(before, after) <= moved + 1e-9 <= tolerance * (1 + 1e-9) + 1e-9


@settings(max_examples=12, deadline=None)
@given(SEEDS, TOLERANCES)
def test_neighbours_share_their_borders_still(seed, tolerance):
    before = cut_up(wavy(seed), seed)
    after = Simplifier(before).to(tolerance).shapes
    assert count(after) < count(before)
    assert shapely.coverage_is_valid(shapely.get_parts(list(after)))
    for one, other in combinations(after, 2):
        assert one.intersection(other).area < 1e-9
    whole = shapely.union_all(after)
    assert whole.area == pytest.approx(sum(shape.area for shape in after), abs=1e-9)
    assert apart(shapely.union_all(before), whole, 0.05) <= tolerance + 1e-6


@settings(max_examples=8, deadline=None)
@given(SEEDS, TOLERANCES)
def test_what_does_not_cross_does_not_cross_afterwards(seed, tolerance):
    """Rings within rings a hair apart, and lines between them."""
    outer = wavy(seed)
    rings = [outer.buffer(-0.15 * k).simplify(0.001) for k in range(5)]
    lines = [MultiLineString([ring.exterior.coords]) for ring in rings]
    after = Simplifier(lines).to(tolerance).shapes
    for one, other in combinations(after, 2):
        assert not one.intersects(other)
    nested = [Polygon(line.geoms[0]) for line in after]
    assert all(a.contains(b) for a, b in pairwise(nested))


@settings(max_examples=8, deadline=None)
@given(SEEDS, st.sampled_from([0.01, 0.1]), st.floats(-180, 180), st.floats(-50, 50))
def test_moved_and_turned_art_is_thinned_alike(seed, tolerance, angle, dx):
    before = cut_up(wavy(seed), seed)
    move = lambda g: translate(rotate(g, angle, origin=(0, 0)), dx, 7)
    here = [move(shape) for shape in Simplifier(before).to(tolerance).shapes]
    there = Simplifier([move(shape) for shape in before]).to(tolerance).shapes
    # where two points are equally far off, rounding decides: such a border differs within bounds
    for one, other in zip(here, there, strict=True):
        assert apart(one, other, 0.05) <= 2 * tolerance


@settings(max_examples=8, deadline=None)
@given(SEEDS, st.sampled_from([0.01, 0.1]))
def test_twice_is_once_but_for_a_few_points_in_a_crowd(seed, tolerance):
    """Halving finds the same points again; where a neighbour was in the way, it may find more."""
    alone = Simplifier([as_area(wavy(seed))]).to(tolerance).shapes
    assert Simplifier(alone).to(tolerance).shapes == alone
    crowd = Simplifier(cut_up(wavy(seed), seed)).to(tolerance).shapes
    again = Simplifier(crowd).to(tolerance).shapes
    assert count(crowd) - count(again) <= 0.02 * count(crowd)


def test_a_line_along_a_border_stays_on_it():
    disc = as_area(Point(0, 0).buffer(5, quad_segs=100))
    rim = MultiLineString([disc.geoms[0].exterior.coords[30:200]])
    area, line = Simplifier([disc, rim]).to(0.05).shapes
    assert count([line]) < count([rim]) / 4
    assert area.boundary.covers(line)


def test_a_corner_on_a_neighbours_edge_stays_there():
    """A T: the corner of the narrow block lies within an edge of the wide one."""
    bumpy = [(0, 0), (3, 0.01), (6, 0), (9, 0.01), (12, 0), (12, 5), (0, 5)]
    wide, narrow = as_area(Polygon(bumpy)), as_area(box(4, -3, 5, 1).difference(Polygon(bumpy)))
    after = Simplifier([wide, narrow]).to(0.05).shapes
    assert shapely.coverage_is_valid(shapely.get_parts(list(after)))
    assert after[0].intersection(after[1]).length > 0.9
    assert count([after[0]]) < count([wide]) + 2


def test_what_lies_beside_keeps_its_points_and_what_it_shares():
    left, right, far = [as_area(box(*b)) for b in ((0, 0, 5, 9), (5, 0, 9, 9), (20, 0, 29, 9))]
    wave = [(5 + 0.01 * (k % 2), k) for k in range(10)]
    left = as_area(Polygon([(0, 0), *wave, (0, 9)]))
    right = as_area(Polygon([(9, 0), *wave, (7, 9.01), (9, 9)]))
    ((thin,), _) = Simplifier([right], [left, far]).to(0.1)
    assert thin.equals(as_area(Polygon([(9, 0), *wave, (9, 9)])))
    assert thin.intersection(left).area == 0
    (alone,) = Simplifier([right]).to(0.1).shapes
    assert count([alone]) == 5


def test_what_needs_all_its_points_is_the_same_object():
    shapes = [as_area(box(0, 0, 4, 3)), MultiLineString([[(9, 9), (12, 9), (12, 12)]])]
    thin = Simplifier(shapes).to(0.1)
    assert thin.moved == 0
    assert all(a is b for a, b in zip(shapes, thin.shapes, strict=True))
    assert Simplifier([]).to(0.1).shapes == ()
    assert Simplifier([MultiPolygon()]).to(0.1).shapes[0].is_empty


def test_a_ring_smaller_than_the_tolerance_keeps_an_area():
    dot = as_area(Point(3, 3).buffer(0.05))
    (thin,) = Simplifier([dot]).to(1.0).shapes
    assert thin.area > dot.area / 2


def test_the_net_tells_each_border_once_and_builds_all_again():
    """Two squares side by side: their outer borders and the one they share."""
    parts = [box(0, 0, 1, 1), box(1, 0, 2, 1), LineString([(1, 0), (1, 1)])]
    found = border_network(parts)
    assert len(found.borders) == 3
    used = [number for rings in found.chains for ring in rings for number, _ in ring]
    assert sorted(used.count(number) for number in range(3)) == [1, 1, 3]
    again = rebuild_parts(parts, found, found.borders)
    assert all(a is b for a, b in zip(again, parts, strict=True))
