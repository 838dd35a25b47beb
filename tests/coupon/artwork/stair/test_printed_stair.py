"""The stair to print: closed for two other libraries, and as high as its labels say."""

from __future__ import annotations

import io

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh

from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.paper.files import coupon_files
from tests.coupon.benches import BENCH, SETTINGS
from tests.coupon.drawn import FOLDER, paths

CASES = {
    # plate, rise, height of the lowest step: the least whole number of rises from 2 mm on
    "usual": ((60.0, 40.0), 0.25, 2.0),
    "fine": ((50.0, 42.5), 0.1, 2.0),
    "coarse": ((70.0, 53.0), 0.3, 2.1),
}


def _made(name):
    plate, rise, lowest = CASES[name]
    asked = CouponOverrides(lengths=(rise,))
    definition = define("focus-steps", BENCH, plate=plate, settings=SETTINGS, asked=asked)
    data = coupon_files(definition, FOLDER / "x.svg").data
    mesh = trimesh.load(io.BytesIO(data[FOLDER / "x.stair.stl"]), file_type="stl")
    return plate, rise, lowest, mesh, paths(data[FOLDER / "x.svg"])


@pytest.fixture(scope="module", params=list(CASES))
def made(request):
    return _made(request.param)


def test_the_mesh_is_closed_for_two_libraries_and_no_edge_is_shared_by_four(made):
    mesh = made[3]
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert np.bincount(mesh.edges_unique_inverse).max() == 2
    solid = manifold3d.Manifold(
        manifold3d.Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32))
    )
    assert solid.status() == manifold3d.Error.NoError
    assert solid.volume() == pytest.approx(mesh.volume, rel=1e-5)


def test_size_and_volume_are_those_of_steps_counted_by_hand(made):
    (width, length), rise, lowest, mesh, _ = made
    depth = (length - 2) / 17
    assert mesh.extents == pytest.approx((width, length, lowest + 16 * rise), abs=1e-3)
    assert mesh.bounds[0] == pytest.approx((0, 0, 0), abs=1e-6)
    slabs = sum(rise * width * (length - 1 - n * depth) for n in range(1, 17))
    notches = 2 * 1.0 * 1.0 * (lowest + 8 * rise)
    assert mesh.volume == pytest.approx(lowest * width * length + slabs - notches, rel=1e-4)


def test_each_step_is_level_at_its_height_and_as_large_as_it_should_be(made):
    (width, length), rise, lowest, mesh, _ = made
    up = mesh.face_normals[:, 2] > 0.5
    heights = mesh.triangles[up][:, :, 2]
    assert np.ptp(heights, axis=1).max() < 1e-6
    depth = (length - 2) / 17
    for number in range(17):
        there = np.abs(heights[:, 0] - (lowest + number * rise)) < 1e-4
        end, notch = number in {0, 16}, number == 8
        expected = width * (depth + (1.0 if end else 0.0)) - (2.0 if notch else 0.0)
        # corners lie on a grid of 0.001 mm
        assert mesh.area_faces[up][there].sum() == pytest.approx(expected, abs=0.001 * width)


def test_under_every_mark_the_stair_is_as_high_as_the_label_says(made):
    (_, length), rise, lowest, mesh, drawn = made
    tops = mesh.triangles[mesh.face_normals[:, 2] > 0.5]
    flat = shapely.polygons(tops[:, :, :2])
    middle = lowest + 8 * rise
    for number in range(17):
        marks = [p for key, p in drawn.items() if key.startswith(f"cell-A{number + 1}-")]
        marks.append(drawn[f"label-A{number + 1}"])
        assert len(marks) == 3
        for mark in marks:
            x0, y0, x1, y1 = mark.box
            box = shapely.box(x0, length - y1, x1, length - y0)
            under = tops[shapely.area(shapely.intersection(flat, box)) > 1e-9]
            assert under[:, :, 2] == pytest.approx(middle + (8 - number) * rise, abs=1e-4)
            # a whole tenth of a millimetre of the step is left all around
            wide = shapely.intersection(flat, box.buffer(0.1, join_style="mitre"))
            assert np.ptp(tops[shapely.area(wide) > 1e-9][:, :, 2]) < 1e-4


def test_the_same_stair_has_the_same_bytes():
    data = [
        coupon_files(
            define("focus-steps", BENCH, plate=(60.0, 40.0), settings=SETTINGS), FOLDER / "x.svg"
        ).data[FOLDER / "x.stair.stl"]
        for _ in range(2)
    ]
    assert data[0] == data[1]
