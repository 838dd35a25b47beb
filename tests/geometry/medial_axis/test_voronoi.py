from __future__ import annotations

import numpy as np
import pytest
import shapely

from preprocess.geometry.medial_axis.voronoi import medial_axis


def test_a_corner_that_lies_on_another_edge():
    """The second corner lies on the closing edge exactly, but not in floating point.

    What is left is the triangle behind it; the largest circle in a triangle has the radius
    2 × area / perimeter.
    """
    sliver = shapely.Polygon([(0, 0), (0.369482, 0.03), (0.138964, 0.06), (1.108446, 0.09)])
    assert 3 * 369482 == 1108446
    axis = medial_axis(shapely.MultiPolygon([sliver]))
    triangle = np.array([(0.369482, 0.03), (0.138964, 0.06), (1.108446, 0.09)])
    sides = np.linalg.norm(triangle - np.roll(triangle, 1, axis=0), axis=1)
    radius = 2 * shapely.Polygon(triangle).area / sides.sum()
    assert np.isfinite(axis.at[axis.ends]).all()
    assert axis.reach[axis.ends].max() == pytest.approx(radius, abs=2e-6)
