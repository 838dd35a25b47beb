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


@pytest.mark.parametrize("turn", [0, 30, 90, 211])
def test_nodes_of_a_chip_with_a_corner_on_another_edge_are_finite(turn):
    """Every node lies in the chip, as far from its outline as the axis says."""
    chip = shapely.Polygon([(0.63, 0.025), (-0.63, -0.025), (-0.378, -0.015), (-0.441, 0.007)])
    area = shapely.MultiPolygon([shapely.affinity.rotate(chip, turn, origin=(0, 0))])
    axis = medial_axis(area)
    used = np.unique(axis.ends)
    nodes = shapely.points(axis.at[used])
    assert len(used) > 1
    assert shapely.dwithin(nodes, area, 2e-6).all()
    assert axis.reach[used] == pytest.approx(
        shapely.distance(nodes, shapely.boundary(area)), abs=2e-6
    )
