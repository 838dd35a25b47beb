"""The drawing as it was marked: areas, rows drawn as lines, and normals away from marks."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, box

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.photo.registering.marked_drawing import (
    MarkedDrawing,
    marked_drawing,
    outline_points,
)


def leaf(*shapes, angle=0.0):
    settings = {
        Operation.ENGRAVE: Settings(power=0.4, speed=400.0, pitch=0.1, angle=angle),
        Operation.SCORE: Settings(power=0.4, speed=400.0),
    }
    layer = Layer(name="leaf", operation=None, settings=settings)
    return Artwork(page=Page(width=30, height=20), shapes=shapes, layers=(layer,))


def drawn(name, operation, geometry, **more):
    return Shape(id=name, layer="leaf", operation=operation, geometry=geometry, sources=(), **more)


def test_rows_drawn_as_lines_are_an_area_of_their_pitch():
    rows = [LineString([(2, 2 + 0.1 * n), (12, 2 + 0.1 * n)]) for n in range(40)]
    rounds = (
        drawn(f"round-{k}", Operation.SCORE, MultiLineString(rows[k::4]), round=k) for k in range(4)
    )
    vein = drawn("vein", Operation.SCORE, MultiLineString([LineString([(2, 15), (12, 15)])]))
    found = marked_drawing(leaf(*rounds, vein))
    # 40 rows of 10 mm, 0.1 mm apart: 40 mm² from 1.95 to 5.95 mm
    assert found.areas.area == pytest.approx(40.0, rel=0.002)
    assert found.areas.bounds == pytest.approx((2, 1.95, 12, 5.95), abs=0.002)
    assert len(found.areas.geoms) == 1
    assert found.lines.equals(vein.geometry)


def test_zones_side_by_side_are_one_area():
    zones = (
        drawn(f"leaf-{n}", Operation.ENGRAVE, MultiPolygon([area]), level=n)
        for n, area in enumerate((box(0, 0, 10, 4), box(0, 4, 10, 9)), 1)
    )
    found = marked_drawing(leaf(*zones))
    assert found.areas.equals(box(0, 0, 10, 9))


@pytest.mark.parametrize("turned", [False, True])
def test_normals_point_away_from_marks_whichever_way_their_outline_is_drawn(turned):
    ring = shapely.difference(Point(10, 10).buffer(8), Point(10, 10).buffer(4))
    if turned:
        ring = shapely.reverse(ring)
    places, normals = outline_points(MarkedDrawing.of_area(MultiPolygon([ring])))
    outer = np.hypot(*(places - 10).T) > 6
    away = ((places - 10) * normals).sum(axis=1)
    assert (away[outer] > 0).all()
    assert (away[~outer] < 0).all()
    assert 0 < outer.sum() < len(outer)


@pytest.mark.parametrize(
    ("angle", "first"), [(0.0, "top"), (90.0, "left"), (180.0, "bottom"), (-90.0, "right")]
)
def test_an_edge_where_rows_begin_tells_no_place(angle, first):
    # rows turn counter-clockwise with the angle, so that the first lies above, then on the left
    area = box(10, 5, 20, 15)
    drawing = marked_drawing(
        leaf(drawn("leaf", Operation.ENGRAVE, MultiPolygon([area])), angle=angle)
    )
    _, normals = outline_points(replace(drawing, fades=True))  # a corner may lie on either edge
    away = {"top": (0, -1), "left": (-1, 0), "bottom": (0, 1), "right": (1, 0)}
    seen = {name for name, way in away.items() if (normals @ np.array(way) > 0.9).sum() > 1}
    assert away.keys() - seen == {first}
