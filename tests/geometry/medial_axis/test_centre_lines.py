"""Centre lines against closed forms, and against a raster skeleton for lettering."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.ndimage
import scipy.spatial
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.medial_axis.centre_lines import centre_lines
from preprocess.geometry.medial_axis.parallel_lines import parallel_lines
from preprocess.geometry.overlay.arrangement import fill_contours
from tests.benchmarks import art

WIDTH, LEAST = 0.3, 0.6
STRAIGHT, BENT = 0.005, 0.010
"""How far a centre line may lie from the true one, mm, on straight stretches and elsewhere."""


def area(*shapes):
    return as_area(shapely.set_precision(shapely.union_all(shapes), 1e-6))


def found(*shapes, width=WIDTH, least=LEAST):
    return centre_lines(area(*shapes), width, least)


def traced(*shapes, stroke=None, most=5, **more):
    return list(parallel_lines(found(*shapes, **more), stroke, most).geoms)


def apart(line, other):
    """Greatest distance of any point of one line from the other, both ways, by dense points."""
    a, b = shapely.segmentize(line, 0.005), shapely.segmentize(other, 0.005)
    return shapely.hausdorff_distance(a, b)


def widths_of(hairlines):
    points = np.concatenate([one.points for one in hairlines.strokes])
    return points, np.concatenate([one.width for one in hairlines.strokes])


def turned(geometry, degrees, about=(0.0, 0.0)):
    return shapely.affinity.rotate(geometry, degrees, origin=about)


@pytest.mark.parametrize("width", [0.02, 0.06, 0.2, 0.29])
@pytest.mark.parametrize("angle", [0, 17, 90, 143.2])
def test_a_strip_is_scored_along_its_middle_from_end_to_end(width, angle):
    strip = turned(box(0, -width / 2, 12, width / 2), angle)
    (line,) = traced(strip)
    assert apart(line, turned(LineString([(0, 0), (12, 0)]), angle)) < 1e-5
    assert line.length == pytest.approx(12, abs=1e-5)
    _, widths = widths_of(found(strip))
    assert widths == pytest.approx(width, abs=2e-6)


def test_an_annulus_is_scored_along_its_middle_circle():
    ring = Point(3, 4).buffer(5, quad_segs=400) - Point(3, 4).buffer(4.85, quad_segs=400)
    (line,) = traced(ring)
    assert line.is_closed
    radii = np.hypot(*(shapely.get_coordinates(shapely.segmentize(line, 0.02)) - (3, 4)).T)
    assert radii == pytest.approx(4.925, abs=1e-3)
    assert line.length == pytest.approx(2 * math.pi * 4.925, rel=1e-4)
    assert widths_of(found(ring))[1] == pytest.approx(0.15, rel=0.02)


@pytest.mark.parametrize("width", [0.06, 0.2])
def test_a_wavy_strip_is_scored_along_the_wave(width):
    """Its outline is offset from the wave by formula, so the wave is the centre line."""
    x = np.linspace(0, 80, 4001)
    wave = np.stack((x, 2 * np.sin(x / 4)), axis=1)
    slope = np.stack((np.ones_like(x), 0.5 * np.cos(x / 4)), axis=1)
    slope /= np.hypot(*slope.T)[:, None]
    out = width / 2 * np.stack((-slope[:, 1], slope[:, 0]), axis=1)
    strip = Polygon(np.vstack((wave + out, (wave - out)[::-1])))
    (line,) = traced(strip)
    assert apart(line, LineString(wave)) < STRAIGHT
    assert line.length == pytest.approx(LineString(wave).length, abs=2 * BENT)
    assert widths_of(found(strip))[1] == pytest.approx(width, rel=0.02)


@pytest.mark.parametrize("half", [2.0, 8.0, 20.0])
def test_a_leaf_that_ends_in_a_wedge_is_scored_from_where_it_is_narrow_to_the_tip(half):
    """A disc of 0.3 mm touches the sides 0.15 / tan a before the tip, that is × cos a across."""
    a = math.radians(half)
    long = 1.0 / math.tan(a)
    wedge = Polygon([(0, -1), (long, 0), (0, 1)])
    (line,) = traced(wedge, least=0.3)
    begins = WIDTH / 2 / math.tan(a) * math.cos(a)
    assert apart(line, LineString([(long - begins, 0), (long, 0)])) < 1e-5
    hair = found(wedge, least=0.3)
    assert hair.rest.area == pytest.approx(long - begins**2 * math.tan(a), rel=1e-5)
    points, widths = widths_of(hair)
    assert widths == pytest.approx(2 * (long - points[:, 0]) * math.sin(a), abs=2e-6)


def test_a_crescent_is_scored_along_the_curve_between_its_two_circles():
    """Points as far from one circle as from the other: an ellipse whose foci are the centres."""
    big, small, off = 5.0, 4.95, 0.15
    crescent = Point(0, 0).buffer(big, quad_segs=500) - Point(off, 0).buffer(small, quad_segs=500)
    (line,) = traced(crescent, width=0.5)
    points = shapely.get_coordinates(shapely.segmentize(line, 0.02))
    sums = np.hypot(*points.T) + np.hypot(*(points - (off, 0)).T)
    assert sums == pytest.approx(big + small, abs=2e-3)
    x = (big**2 - small**2 + off**2) / (2 * off)
    tips = [(x, math.sqrt(big**2 - x**2)), (x, -math.sqrt(big**2 - x**2))]
    for tip in tips:
        assert line.distance(Point(tip)) < BENT
    middle, widths = widths_of(found(crescent, width=0.5))
    assert widths == pytest.approx(2 * (big - np.hypot(*middle.T)), rel=0.02, abs=0.002)


def star(points=5, outer=6.0, inner=1.2):
    way = np.arange(2 * points) * math.pi / points
    radii = np.where(np.arange(2 * points) % 2, inner, outer)
    return Polygon(np.stack((radii * np.sin(way), -radii * np.cos(way)), axis=1))


def test_the_points_of_a_star_are_scored_out_to_their_tips():
    shape = star()
    a = math.atan2(1.2 * math.sin(math.pi / 5), 6.0 - 1.2 * math.cos(math.pi / 5))
    begins = WIDTH / 2 / math.tan(a) * math.cos(a)
    lines = traced(shape)
    assert len(lines) == 5
    for line in lines:
        ends = np.sort(np.hypot(*shapely.get_coordinates(line).T))
        assert ends[[0, -1]] == pytest.approx([6 - begins, 6], abs=1e-5)
        assert line.length == pytest.approx(begins, abs=1e-5)
    (rest,) = found(shape).rest.geoms
    assert rest.area == pytest.approx(shape.area - 5 * begins**2 * math.tan(a), rel=1e-6)


def test_a_stem_begins_where_the_wide_place_ends():
    hair = found(box(0, 0, 5, 5), box(5, 2, 9, 2.1))
    assert hair.rest.equals(MultiPolygon([box(0, 0, 5, 5)]))
    (line,) = parallel_lines(hair, None, 5).geoms
    assert apart(line, LineString([(5, 2.05), (9, 2.05)])) < 1e-6


@pytest.mark.parametrize("others", [(10, 70, 120), (0, 90), (0, 40), (0, 150)])
def test_hairlines_that_cross_go_straight_on(others):
    lines = traced(*(turned(box(-6, -0.04, 6, 0.04), degrees) for degrees in others))
    assert len(lines) == len(others)
    for line, degrees in zip(sorted(lines, key=_bearing), sorted(others), strict=True):
        assert apart(line, turned(LineString([(-6, 0), (6, 0)]), degrees)) < BENT


def _bearing(line):
    (x, y), (u, v) = line.coords[0], line.coords[-1]
    return math.atan2(v - y, u - x) % math.pi


def test_a_branch_meets_a_line_that_goes_straight_on():
    lines = traced(box(0, 0, 10, 0.1), box(5, -5, 5.1, 0.1))
    long, branch = sorted(lines, key=lambda line: -line.length)
    assert apart(long, LineString([(0, 0.05), (10, 0.05)])) < BENT
    assert branch.length == pytest.approx(5.05, abs=0.02)


def test_a_mitred_corner_has_no_spur():
    """The axis rounds the inner corner, at most half a width inside the corner as drawn."""
    way = LineString([(0, 0), (5, 0), (2, 5)])
    (line,) = traced(way.buffer(0.05, cap_style="flat", join_style="mitre"))
    assert apart(line, way) < 0.05
    clear = Point(5, 0).buffer(0.15)
    assert apart(line - clear, way - clear) < STRAIGHT


def test_round_ends_are_reached():
    (line,) = traced(LineString([(0, 0), (7, 0)]).buffer(0.1, quad_segs=16))
    assert apart(line, LineString([(-0.1, 0), (7.1, 0)])) < 1e-4


def test_lines_side_by_side_cover_a_wide_hairline():
    lines = traced(box(0, 0, 10, 0.25), stroke=0.09)
    assert sorted(line.bounds[1] for line in lines) == pytest.approx(
        [0.045, 0.125, 0.205], abs=1e-5
    )
    painted = shapely.union_all([line.buffer(0.045, cap_style="flat") for line in lines])
    assert painted.symmetric_difference(box(0, 0, 10, 0.25)).area < 1e-4


def test_lines_side_by_side_grow_fewer_where_it_narrows():
    """No more of them than fit, and what they paint covers nine tenths of the wedge."""
    wedge = Polygon([(0, -0.14), (20, 0), (0, 0.14)])
    lines = traced(wedge, stroke=0.08)
    painted = shapely.union_all([line.buffer(0.04, cap_style="flat") for line in lines])
    assert (wedge - painted).area < 0.1 * wedge.area
    assert all(wedge.buffer(1e-6).covers(line) for line in lines)


def blobs(draw_from):
    return st.lists(draw_from, min_size=1, max_size=5)


places = st.floats(-4, 4).map(lambda value: round(value, 6))  # GEOS divides by what is smaller
strips = st.tuples(places, places, st.floats(0, 180), st.floats(1, 6), st.floats(0.03, 1.2)).map(
    lambda s: turned(box(s[0], s[1], s[0] + s[3], s[1] + s[4]), s[2])
)


@settings(max_examples=40, deadline=None)
@given(blobs(strips))
def test_rest_and_hairlines_are_the_area_and_lines_lie_in_the_thin_part(shapes):
    whole = area(*shapes)
    hair = centre_lines(whole, WIDTH, LEAST)
    lines = parallel_lines(hair, 0.08, 5)
    assert hair.rest.area + hair.thin.area == pytest.approx(whole.area, rel=1e-9)
    assert hair.rest.intersection(hair.thin).area < 1e-9
    assert hair.rest.symmetric_difference(whole - hair.thin).area < 1e-6
    assert lines.difference(hair.thin.buffer(1e-6)).length < 1e-9
    assert bool(hair.strokes) == (not hair.thin.is_empty)


@settings(max_examples=40, deadline=None)
@given(blobs(strips))
def test_widths_are_those_to_the_outline(shapes):
    whole = area(*shapes)
    for one in centre_lines(whole, WIDTH, LEAST).strokes:
        true = 2 * shapely.distance(whole.boundary, shapely.points(one.points))
        assert one.width == pytest.approx(true, rel=0.02, abs=2e-5)


PIXEL = 0.005


def raster_of(shape):
    """Distance to the outline by a raster of 5 µm, and where that has a ridge."""
    left, top, right, bottom = shape.buffer(0.05).bounds
    x, y = np.arange(left, right, PIXEL), np.arange(top, bottom, PIXEL)
    shapely.prepare(shape)
    lit = shapely.contains_xy(shape, *np.meshgrid(x, y))
    away = PIXEL * scipy.ndimage.distance_transform_edt(lit)
    slope = np.hypot(*np.gradient(away, PIXEL))
    return (x, y), away, lit & (slope < 0.6) & (away > 2 * PIXEL)


@pytest.mark.parametrize("number", range(12))
def test_letters_agree_with_a_raster_of_5_micrometres(number):
    """The ridge of the raster's distances lies along the lines, and tells the same width."""
    letter = list(art.lettering(1, 12))[number]
    shape = fill_contours([np.round(0.3 * part, 6) for part in letter], "nonzero")
    hair = centre_lines(shape, WIDTH, LEAST)
    (x, y), away, ridge = raster_of(shape)
    row, column = np.nonzero(ridge)
    tree = scipy.spatial.KDTree(np.stack((x[column], y[row]), axis=1))
    assert hair.strokes
    ended = [one.points[[0, -1]] for one in hair.strokes if (one.points[0] != one.points[-1]).any()]
    ends = shapely.multipoints(np.concatenate([*ended, np.zeros((1, 2)) - 9])).buffer(0.15)
    for one in hair.strokes:
        line = LineString(one.points)
        clear = line - ends
        points = shapely.get_coordinates(shapely.segmentize(clear, 0.01))
        off, nearest = tree.query(points)
        assert off.max(initial=0) < BENT + PIXEL
        true = 2 * away[row[nearest], column[nearest]]
        there = shapely.line_locate_point(line, shapely.points(points))
        way = np.concatenate(([0], np.cumsum(np.hypot(*np.diff(one.points, axis=0).T))))
        assert np.interp(there, way, one.width) == pytest.approx(true, rel=0.02, abs=3 * PIXEL)
    points = np.stack((x[column], y[row]), axis=1)[(away[ridge] < WIDTH / 2)]
    lines = shapely.multilinestrings([LineString(one.points) for one in hair.strokes])
    mine = shapely.contains_xy(hair.thin, *points.T)
    far = shapely.distance(lines, shapely.points(points[mine]))
    assert np.quantile(far, 0.98) < BENT + PIXEL


@pytest.mark.parametrize("angle", [0, 7, 30, 90, 133])
def test_areas_that_touch_in_a_point_are_traced_as_if_they_lay_apart(angle):
    """Two strips of 5 × 0.2 mm that meet in a corner: each has its own middle line, 5 mm long."""
    strips = MultiPolygon([box(0, 0, 5, 0.2), box(5, 0.2, 10, 0.4)])
    turned = as_area(shapely.affinity.rotate(strips, angle, origin=(0, 0)))
    lines = parallel_lines(centre_lines(turned, WIDTH, LEAST), None, 5).geoms
    assert [line.length for line in lines] == pytest.approx([5, 5], abs=1e-4)


def test_a_cut_meets_the_outline_of_an_area_that_lies_off_the_grid():
    """A tab of 1 × 0.25 mm beside a body, turned by 1 degree and moved by 50 nm at a time.

    The axis is that of the area on the grid; its cut once passed beside a corner of the area.
    """
    drawn = box(0, 0, 1, 1.5) | box(1, 1, 2, 1.25)
    turned = shapely.affinity.rotate(drawn, 1.0, origin=(20, 10))
    for dx in np.linspace(0.1, 0.1000012, 25):
        moved = as_area(shapely.affinity.translate(turned, dx, 0))
        parted = centre_lines(moved, WIDTH, LEAST)
        assert parted.rest.area == pytest.approx(1.5, abs=1e-5)
        assert len(parted.strokes) == 1
