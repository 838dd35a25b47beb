"""Shade of raised places, against rays drawn one by one from the lens."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from preprocess.geometry.relief.shade import shade_of
from tests.geometry.relief.solids import prism, triangles

PLANE, FOCAL = 3.0, 110.0
RIB = shapely.box(30, -4, 31, 4)
PART = prism(shapely.box(0, -10, 50, 10), 0, PLANE) + prism(RIB, 0, PLANE + 0.8)


def _shade():
    mesh = triangles(PART)
    return shade_of(mesh, above=PLANE + 0.3, plane=PLANE, axis=(0.0, 0.0), focal_length=FOCAL)


def test_a_rib_shades_a_strip_on_its_far_side() -> None:
    """0.8 mm high and 31 mm from the axis: 31 × 0.8 / (110 - 0.8) = 0.2271 mm."""
    left, _, right, top = _shade().bounds
    assert left == pytest.approx(30.0, abs=1e-4)
    assert right == pytest.approx(31 + 31 * 0.8 / (FOCAL - 0.8), abs=1e-4)
    assert top == pytest.approx(4 + 4 * 0.8 / (FOCAL - 0.8), abs=1e-4)


def test_rays_from_the_lens_agree() -> None:
    """A ray to (x, y) passes (x, y) (1 - h / f) at h over the plane; the rib stands in its way."""
    random = np.random.default_rng(7)
    places = random.uniform((28, -6), (33, 6), (4000, 2))
    heights = np.linspace(0, 0.8, 300)
    on_way = places[:, None, :] * (1 - heights / FOCAL)[None, :, None]
    hit = shapely.contains_xy(RIB, on_way[..., 0], on_way[..., 1]).any(axis=1)
    shade = _shade()
    sure = shapely.distance(shapely.points(places), shade.boundary) > 2e-3
    assert (shapely.contains_xy(shade, *places.T) == hit)[sure].all()
    assert 300 < hit.sum() < 2000


def test_what_is_not_raised_shades_nothing() -> None:
    mesh = triangles(prism(RIB, 0, PLANE))
    found = shade_of(mesh, above=PLANE, plane=PLANE, axis=(0.0, 0.0), focal_length=FOCAL)
    assert found.is_empty
