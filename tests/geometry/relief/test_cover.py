"""Covers against closed forms and against manifold3d, on sound meshes and on broken ones."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from preprocess.geometry.relief.clipping import above, below
from preprocess.geometry.relief.cover import cover, without_cracks
from tests.geometry.relief.solids import LABEL, LETTERS, lettered, off_by, plain, triangles


def test_the_outline_of_a_label_has_its_hole() -> None:
    area = cover(triangles(plain()))
    (polygon,) = area.geoms
    assert len(polygon.interiors) == 1
    assert off_by(area, LABEL) < 1e-6
    assert shapely.hausdorff_distance(area.boundary, LABEL.boundary) < 1e-3


def test_what_lies_above_a_height_is_what_is_higher_there() -> None:
    mesh = triangles(lettered())
    assert off_by(cover(above(mesh, 3.4)), LETTERS) < 1e-6
    assert off_by(cover(above(mesh, 2.9)), LABEL | LETTERS) < 1e-6
    assert cover(above(mesh, 3.9)).is_empty


def test_a_cone_is_cut_to_the_circle_of_its_height() -> None:
    """Radius 8 below, 0 at 4: at height z the section has the radius 8 (1 - z / 4).

    Corners move by half a hundredth of a micrometre each way, so areas by their outline times that.
    """
    cone = triangles(manifold3d.Manifold.cylinder(4, 8, 0, 256))
    polygon = 128 * np.sin(2 * np.pi / 256)
    for height in (0.5, 1.7, 3.9):
        radius = 8 * (1 - height / 4)
        rounding = 2 * np.pi * radius * 5e-6 * np.sqrt(2)
        wanted = pytest.approx(polygon * radius**2, abs=rounding)
        assert cover(above(cone, height)).area == wanted
        assert cover(below(cone, height)).area == pytest.approx(polygon * 64, rel=1e-6)


def test_an_overhang_hides_what_lies_under_it() -> None:
    from tests.geometry.relief.solids import prism

    roof = prism(shapely.box(0, 0, 10, 4), 7, 8)
    post = prism(shapely.box(0, 0, 1, 4), 0, 7)
    assert cover(triangles(roof + post)).area == pytest.approx(40)


def _broken(mesh):
    """Some triangles twice, three in ten turned, all corners a little off."""
    random = np.random.default_rng(1)
    mesh = np.concatenate([mesh, mesh[random.integers(0, len(mesh), 60)]])
    turned = random.random(len(mesh)) < 0.3
    mesh[turned] = mesh[turned][:, ::-1]
    return mesh + random.normal(0, 2e-5, mesh.shape)


def test_broken_and_leaky_meshes_have_the_same_outline() -> None:
    from preprocess.geometry.relief.mesh_health import welded

    mesh = triangles(lettered())
    sides = np.flatnonzero(np.ptp(mesh[:, :, 2], axis=1) > 1)
    under = np.flatnonzero(mesh[:, :, 2].max(axis=1) < 0.01)
    leaky = np.delete(mesh, np.concatenate((under[::3], sides[::4])), axis=0)
    for bad in (welded(_broken(mesh)), leaky):
        area = cover(bad)
        assert len(area.geoms[0].interiors) == 1
        assert shapely.hausdorff_distance(area.boundary, LABEL.boundary) < 1e-3
        assert off_by(cover(above(bad, 3.4)), LETTERS) < 0.01


def test_specks_and_slits_are_left_out() -> None:
    speck = shapely.box(10, 0, 10.004, 5)
    slit = shapely.box(1, 1, 3, 1.004)
    area = shapely.MultiPolygon([shapely.box(0, 0, 4, 4) - slit, speck])
    assert without_cracks(area).equals(shapely.box(0, 0, 4, 4))


def test_no_triangle_covers_nothing() -> None:
    upright = np.array([[[0, 0, 0], [1, 0, 0], [0.5, 0, 3]]], float)
    assert cover(np.zeros((0, 3, 3))).is_empty
    assert cover(upright).is_empty


box_sizes = st.tuples(*[st.integers(1, 60)] * 3)
places = st.tuples(*[st.integers(-60, 60)] * 3)


@given(st.lists(st.tuples(box_sizes, places), min_size=1, max_size=6), st.randoms())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_random_heaps_of_turned_boxes_as_manifold_projects_them(boxes, random) -> None:
    """Its own union of solids, and its own projection; then the same with turned triangles."""
    solids = [
        manifold3d.Manifold.cube(size).rotate((random.random() * 360, 20, 0)).translate(place)
        for size, place in boxes
    ]
    wanted = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).project().area()
    mesh = np.concatenate([triangles(solid) for solid in solids])
    assert cover(mesh).area == pytest.approx(wanted, rel=1e-6, abs=1e-3)
    numbers = np.random.default_rng(random.randrange(2**32))
    turned = numbers.random(len(mesh)) < 0.5
    again = mesh.copy()
    again[turned] = again[turned][:, ::-1]
    again = np.concatenate([again, again[numbers.integers(0, len(again), 5)]])
    assert cover(again).area == pytest.approx(wanted, rel=1e-6, abs=1e-3)
