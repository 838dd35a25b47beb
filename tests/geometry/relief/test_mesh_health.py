"""Health of meshes: what is open, what is inside out, and what trimesh says of the same."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from preprocess.geometry.relief.mesh_health import facing, mesh_health, welded
from tests.geometry.relief.solids import lettered, plain, triangles

MESH = triangles(lettered())


def _as_trimesh(mesh):
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    return trimesh.Trimesh(places, number.reshape(-1, 3), process=False)


@pytest.mark.parametrize("gone", [0, 1, 7])
def test_open_edges_are_those_of_missing_triangles(gone: int) -> None:
    mesh = MESH[gone:]
    health = mesh_health(mesh)
    assert health.is_closed == _as_trimesh(mesh).is_watertight == (gone == 0)
    assert health.is_sound == (gone == 0)
    if gone == 1:
        ends = {tuple(point) for edge in health.open_edges for point in edge}
        assert ends == {tuple(point) for point in MESH[0]}
        assert len(health.open_edges) == 3


def test_a_body_inside_out_is_told() -> None:
    health = mesh_health(np.concatenate([MESH, MESH[:, ::-1] + [0, 100, 0]]))
    assert health.is_closed
    assert health.inside_out == 1
    assert not health.is_sound


def test_a_hollow_is_not_inside_out() -> None:
    from tests.read.mesh.mesh_files import box

    hollow = np.concatenate([MESH, box(-20, -5, 0.5, -12, 5, 2.5)[:, ::-1]])
    assert mesh_health(hollow).is_sound


def test_a_turned_triangle_opens_its_edges() -> None:
    mesh = MESH.copy()
    mesh[4] = mesh[4, ::-1]
    assert len(mesh_health(mesh).open_edges) == 3


def test_corners_that_nearly_meet_are_brought_together() -> None:
    random = np.random.default_rng(3)
    shaken = MESH + random.normal(0, 2e-5, MESH.shape)
    assert not mesh_health(shaken).is_closed
    assert mesh_health(welded(shaken)).is_closed
    assert np.array_equal(welded(MESH), MESH)


def test_facing_is_the_cosine_of_the_lean_and_the_area_from_above() -> None:
    leaning = np.array([[[0, 0, 0], [4, 0, 0], [0, 4, 3]]], float)
    cosine, area = facing(leaning)
    assert cosine[0] == pytest.approx(0.8)
    assert area[0] == pytest.approx(8.0)
    assert facing(leaning[:, ::-1])[0][0] == pytest.approx(-0.8)


def test_minus_zero_is_zero() -> None:
    mesh = triangles(plain())
    mesh[mesh == 0] = 0.0
    mesh[3][mesh[3] == 0] = -0.0
    assert mesh_health(mesh).is_closed
