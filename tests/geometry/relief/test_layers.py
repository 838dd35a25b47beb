"""Layers as closed meshes: trimesh and manifold3d agree, and so does the volume."""

from __future__ import annotations

from collections import Counter

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.relief.layers import SolidLayer, layers_mesh
from tests.geometry.relief.solids import LABEL

PLATE = shapely.box(-40, -25, 40, 25)


def uses(faces):
    """How many triangles share each edge."""
    sides = [pair for a, b, c in faces.tolist() for pair in ((a, b), (b, c), (c, a))]
    return set(Counter(tuple(sorted(pair)) for pair in sides).values())


def expect_closed(mesh, volume: float) -> None:
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    one = trimesh.Trimesh(places, faces, process=False)
    assert one.is_watertight
    assert one.is_winding_consistent
    assert one.volume == pytest.approx(volume, rel=1e-5)
    edges = Counter(
        tuple(sorted(edge)) for f in faces.tolist() for edge in zip(f, f[1:] + f[:1], strict=True)
    )
    assert set(edges.values()) == {2}
    solid = manifold3d.Manifold(manifold3d.Mesh(places.astype(np.float32), faces.astype(np.uint32)))
    assert solid.status() == manifold3d.Error.NoError
    assert solid.volume() == pytest.approx(volume, rel=1e-4)


def test_a_plate_with_a_pocket() -> None:
    layers = [
        SolidLayer(0, 1.2, as_area(PLATE)),
        SolidLayer(1.2, 4.0, as_area(PLATE - LABEL.buffer(0.2))),
    ]
    expect_closed(layers_mesh(layers), sum((o.high - o.low) * o.area.area for o in layers))


def test_a_foot_that_grows_and_a_pocket_with_an_overhang() -> None:
    layers = [
        SolidLayer(0, 0.2, as_area(PLATE.buffer(-0.4))),
        SolidLayer(0.2, 1.2, as_area(PLATE)),
        SolidLayer(1.2, 1.6, as_area(PLATE - LABEL.buffer(0.5))),
        SolidLayer(1.6, 2.0, as_area(PLATE - LABEL)),
    ]
    expect_closed(layers_mesh(layers), sum((o.high - o.low) * o.area.area for o in layers))


def test_pieces_that_only_touch_are_parted() -> None:
    """Two squares corner on corner: 0.05 mm is cut from each, on both sides of the corner."""
    upper = as_area(shapely.MultiPolygon([shapely.box(0, 0, 5, 5), shapely.box(5, 5, 9, 9)]))
    layers = [SolidLayer(0, 1, as_area(PLATE)), SolidLayer(1, 2, upper)]
    expect_closed(layers_mesh(layers), PLATE.area - 4 * 0.05**2 + 25 + 16 - 2 * 0.05**2)


def test_pieces_that_touch_along_an_edge_from_layer_to_layer_are_parted() -> None:
    """The smaller one goes: otherwise four triangles would meet in the edge at x = 5."""
    layers = [
        SolidLayer(0, 1, as_area(shapely.box(0, 0, 5, 5))),
        SolidLayer(1, 2, as_area(shapely.box(5, 0, 12, 5))),
    ]
    expect_closed(layers_mesh(layers), 35)


squares = st.tuples(*[st.integers(-30, 30)] * 2, st.integers(2, 20), st.integers(0, 45))


@given(st.lists(st.lists(squares, min_size=1, max_size=4), min_size=1, max_size=4))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_random_pockets_are_closed(heaps) -> None:
    """Each layer loses further turned squares: whatever they cross, the mesh stays closed."""
    area, layers = PLATE, [SolidLayer(0, 1, as_area(PLATE))]
    for level, heap in enumerate(heaps, 1):
        for x, y, size, turn in heap:
            area -= shapely.affinity.rotate(shapely.box(x, y, x + size, y + size), turn)
        layers.append(SolidLayer(level, level + 1, as_area(area)))
    wanted = sum(layer.area.area for layer in layers)
    mesh = layers_mesh(layers)
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    one = trimesh.Trimesh(places, faces, process=False)
    assert one.is_watertight
    edges = Counter(
        tuple(sorted(edge)) for f in faces.tolist() for edge in zip(f, f[1:] + f[:1], strict=True)
    )
    assert set(edges.values()) == {2}
    assert one.volume == pytest.approx(wanted, abs=0.5)
