"""Strokes as areas: closed forms, and what another renderer paints."""

import io
import math

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image
from shapely import MultiLineString, MultiPolygon, box

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.lines.dashes import cut_into_dashes
from preprocess.geometry.lines.stroking import COARSEST_SHARE, STROKE_TOLERANCE, outline_stroke
from preprocess.model.artwork.shape import Stroke

CORNER = [(0, 0), (10, 0), (10, 10)]
RING = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]
ELBOW = 4 - math.pi  # what a round corner of radius 1 lacks of a sharp one, times four


def lines(*coords):
    return MultiLineString([list(map(tuple, line)) for line in coords])


def disc(radius):
    """Area of a disc, with what its chords may lack."""
    return pytest.approx(math.pi * radius**2, abs=2 * math.pi * radius * STROKE_TOLERANCE)


@pytest.mark.parametrize(("cap", "area"), [("butt", 20), ("square", 24)])
def test_square_and_butt_caps(cap, area):
    assert outline_stroke(lines([(0, 0), (10, 0)]), Stroke(width=2, cap=cap)).area == pytest.approx(
        area
    )


def test_round_caps_are_half_discs():
    capped = outline_stroke(lines([(0, 0), (10, 0)]), Stroke(width=2, cap="round"))
    assert capped.area - 20 == disc(1)
    assert capped.bounds == pytest.approx((-1, -1, 11, 1))


@pytest.mark.parametrize(
    ("join", "area"), [("miter", 40), ("bevel", 40 - 0.5), ("round", 40 - 1 + math.pi / 4)]
)
def test_joins(join, area):
    # two arms of 10 x 2, which overlap in a quarter of the corner square
    found = outline_stroke(lines(CORNER), Stroke(width=2, join=join))
    assert found.area == pytest.approx(area, abs=0.01)


@pytest.mark.parametrize(
    ("join", "lacks"), [("miter", 0), ("bevel", 4 * 0.5), ("round", 4 * (1 - math.pi / 4))]
)
def test_a_ring_is_joined_at_its_seam(join, lacks):
    found = outline_stroke(lines(RING), Stroke(width=2, join=join))
    assert found.area == pytest.approx(144 - 64 - lacks, abs=0.03)
    assert [len(part.interiors) for part in found.geoms] == [1]


def test_a_path_that_only_ends_near_its_start_is_not_joined():
    found = outline_stroke(lines([*RING[:-1], (0, 1e-3)]), Stroke(width=2))
    assert found.area == pytest.approx(80 - 1, abs=0.01)


@pytest.mark.parametrize(("limit", "mitred"), [(10.0, True), (5.0, True), (3.0, False)])
def test_a_mitre_is_cut_off_beyond_its_limit(limit, mitred):
    # the two arms stand at 2 asin(1/4) to one another: the mitre is 4 times the width
    half = math.asin(1 / 4)
    arm = (10 * math.cos(half), 10 * math.sin(half))
    found = outline_stroke(
        lines([arm, (0, 0), (arm[0], -arm[1])]), Stroke(width=1, miter_limit=limit)
    )
    # the tip stands half a mitre before the corner, a bevel stands at sin(half) / 2
    tip = -0.5 * 4 if mitred else -0.5 * math.sin(half)
    assert found.bounds[0] == pytest.approx(tip, abs=1e-4)


def test_a_map_that_stretches_unevenly_makes_a_stroke_of_uneven_width():
    stroke = Stroke(width=2, cap="round", matrix=(3, 0, 0, 1, 5, 7))
    upright = outline_stroke(lines([(5, 7), (5, 17)]), stroke)
    assert upright.bounds == pytest.approx((2, 6, 8, 18), abs=STROKE_TOLERANCE)
    level = outline_stroke(lines([(5, 7), (35, 7)]), stroke)
    assert level.bounds == pytest.approx((2, 6, 38, 8), abs=STROKE_TOLERANCE)
    assert level.area == pytest.approx(60 + 3 * math.pi, abs=0.1)


def test_a_mirrored_and_skewed_map_only_scales_the_area():
    matrix = (0.5, 0.2, 0.9, -1.1, 3, -4)
    a, b, c, d, e, f = matrix
    local = np.array(CORNER, float)
    on_page = local @ np.array([(a, b), (c, d)]) + (e, f)
    found = outline_stroke(lines(on_page), Stroke(width=2, matrix=matrix))
    assert found.area == pytest.approx(40 * abs(a * d - b * c), rel=1e-5)


@pytest.mark.parametrize(
    "stroke",
    [
        Stroke(width=0),
        Stroke(width=-1),
        Stroke(width=2, matrix=(0, 0, 0, 0, 0, 0)),
        Stroke(width=2, matrix=(1, 2, 2, 4, 0, 0)),
        Stroke(width=2, matrix=(1, 0, 0, 0, 0, 0)),
        Stroke(width=2, matrix=(1e-20, 0, 0, 0, 0, 0)),
    ],
)
def test_a_stroke_without_width_or_a_flat_map_paints_nothing(stroke):
    assert outline_stroke(lines(CORNER), stroke).equals(NOTHING)


def test_a_small_map_is_not_a_flat_one():
    found = outline_stroke(
        lines([(0, 0), (1, 0)]), Stroke(width=1e7, matrix=(1e-8, 0, 0, 1e-8, 0, 0))
    )
    assert found.area == pytest.approx(0.1, rel=1e-4)


@pytest.mark.parametrize(("cap", "wanted"), [("butt", 0), ("square", 4)])
def test_a_line_without_length_paints_its_caps(cap, wanted):
    found = outline_stroke(lines([(5, 5), (5, 5)]), Stroke(width=2, cap=cap))
    assert found.area == pytest.approx(wanted)
    assert found.is_empty or found.bounds == (4, 4, 6, 6)


def test_a_line_without_length_and_round_caps_is_a_dot():
    found = outline_stroke(lines([(5, 5), (5, 5)]), Stroke(width=2, cap="round"))
    assert found.area == disc(1)
    assert found.centroid.coords[0] == pytest.approx((5, 5))


def test_no_lines_paint_nothing():
    assert outline_stroke(MultiLineString(), Stroke(width=2)).equals(NOTHING)


def test_clips_and_knock_outs_bound_the_stroke():
    line = lines([(0, 0), (10, 0)])
    within, without = MultiPolygon([box(2, -5, 8, 5)]), MultiPolygon([box(4, -5, 5, 5)])
    assert outline_stroke(line, Stroke(width=2, within=within)).area == pytest.approx(12)
    assert outline_stroke(line, Stroke(width=2, without=without)).area == pytest.approx(18)
    both = outline_stroke(line, Stroke(width=2, within=within, without=without))
    assert [part.area for part in both.geoms] == pytest.approx([4, 6])


def test_lines_that_cross_are_one_area():
    cross = outline_stroke(lines([(0, 5), (10, 5)], [(5, 0), (5, 10)]), Stroke(width=1))
    assert cross.area == pytest.approx(19)
    assert len(cross.geoms) == 1


@pytest.mark.parametrize("far", [0, 300, 5000])
@pytest.mark.parametrize("width", [0.05, 0.8])
def test_where_on_the_page_a_line_lies_does_not_matter(far, width):
    near = outline_stroke(lines(CORNER), Stroke(width=width, join="round"))
    there = outline_stroke(lines(np.array(CORNER) + far), Stroke(width=width, join="round"))
    back = shapely.transform(there, lambda c: c - far)
    assert back.symmetric_difference(near).area <= 3e-6 * near.length


@pytest.mark.parametrize("radius", [0.05, 1.0, 20.0])
def test_round_caps_keep_the_tolerance_at_any_size(radius):
    dot = outline_stroke(lines([(0, 0), (0, 0)]), Stroke(width=2 * radius, cap="round"))
    edge = shapely.segmentize(dot.boundary, radius / 100)
    gaps = np.hypot(*shapely.get_coordinates(edge).T)
    assert radius - STROKE_TOLERANCE <= gaps.min()
    assert gaps.max() <= radius + 1e-5


@pytest.mark.parametrize("radius", [60.0, 1e3, 5e6])
def test_round_caps_wider_than_any_field_keep_a_share_of_their_radius(radius):
    dot = outline_stroke(lines([(0, 0), (0, 0)]), Stroke(width=2 * radius, cap="round"))
    edge = shapely.segmentize(dot.boundary, radius / 100)
    gaps = np.hypot(*shapely.get_coordinates(edge).T)
    assert radius * (1 - 1.01 * COARSEST_SHARE) <= gaps.min()
    assert gaps.max() <= radius * (1 + 1e-6)
    # chords with that sagitta: 2 pi / (2 arccos(1 - 1e-4)) = 222, and half as many again at most
    assert shapely.get_num_coordinates(dot) <= 1.5 * 222


def test_a_stem_of_many_short_pieces_is_as_wide_as_it_should_be():
    t = np.linspace(0, 3 * np.pi, 4000)
    stem = np.column_stack((6 * t, 5 * np.sin(t)))
    found = outline_stroke(lines(stem), Stroke(width=0.3))
    length = shapely.LineString(stem).length
    assert found.area == pytest.approx(0.3 * length, rel=1e-3)
    gaps = shapely.distance(
        shapely.points(shapely.get_coordinates(found)), shapely.LineString(stem)
    )
    assert gaps.max() == pytest.approx(0.15, abs=1e-4)


SCALE = 20
PATHS = {
    "zigzag": "M5 5 L25 9 L8 14 L26 18 L9 25",
    "ring": "M6 6 L24 8 L20 24 L9 20 Z",
    "hairpin": "M5 15 L25 15.5 L5 16",
    "loop": "M5 5 L25 25 L25 5 L5 25",
}


def coverage(body):
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="30" height="30">{body}</svg>'
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, zoom=SCALE))
    return np.asarray(Image.open(io.BytesIO(png)))[..., 3] / 255 / SCALE**2


def drawn(area):
    rings = shapely.get_rings(shapely.get_parts(area))
    text = " ".join(
        "M" + " L".join(f"{x:.6f} {y:.6f}" for x, y in ring.coords) + "Z" for ring in rings
    )
    return f'<path fill-rule="evenodd" d="{text}"/>'


def points(path):
    numbers = path.replace("M", "").replace("Z", "").split("L")
    line = [tuple(map(float, pair.split())) for pair in numbers]
    return [*line, line[0]] if path.endswith("Z") else line


@pytest.mark.parametrize("name", PATHS)
@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
def test_another_renderer_paints_the_same_stroke(name, cap, join):
    path = PATHS[name]
    found = outline_stroke(lines(points(path)), Stroke(width=2.4, cap=cap, join=join))
    painted = coverage(
        f'<path fill="none" stroke="#000" stroke-width="2.4" stroke-linecap="{cap}" '
        f'stroke-linejoin="{join}" d="{path}"/>'
    )
    ours = coverage(drawn(found))
    assert np.abs(painted - ours).sum() < 0.004 * painted.sum()


@pytest.mark.parametrize("name", ["zigzag", "ring"])
@pytest.mark.parametrize(
    ("pattern", "offset"),
    [((4, 2), 0), ((5, 1, 2), 3), ((3, 1.5), -2), ((0, 3), 1), ((100, 5), 20)],
)
@pytest.mark.parametrize("cap", ["butt", "round", "square"])
def test_another_renderer_paints_the_same_dashes(name, pattern, offset, cap):
    path = PATHS[name]
    dashes = cut_into_dashes(np.array(points(path)), pattern, offset, closed=path.endswith("Z"))
    found = outline_stroke(lines(*dashes), Stroke(width=1.2, cap=cap))
    listed = ",".join(map(str, pattern))
    painted = coverage(
        f'<path fill="none" stroke="#000" stroke-width="1.2" stroke-linecap="{cap}" '
        f'stroke-dasharray="{listed}" stroke-dashoffset="{offset}" d="{path}"/>'
    )
    ours = coverage(drawn(found))
    if pattern[0] == 0 and cap == "square":
        # they stand upright there, and along the line here: as large, in the same places
        assert ours.sum() == pytest.approx(painted.sum(), rel=0.01)
    else:
        # that renderer leaves a notch where a dash that is a whole ring begins
        notch = 0.5 if pattern[0] == 100 and name == "ring" else 0.0
        assert np.abs(painted - ours).sum() < 0.006 * painted.sum() + 0.01 + notch
