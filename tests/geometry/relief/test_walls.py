"""Thickness of walls, known from how the part was built."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from preprocess.geometry.relief.walls import wall_rays, wall_thickness
from tests.geometry.relief.solids import LETTERS, lettered, plain, prism, triangles

CAVE = shapely.box(-20, -6, -12, 6)


@pytest.mark.parametrize(
    ("solid", "within", "wall"),
    [
        (plain(), shapely.box(0, -10, 20, 10), 3.0),
        (lettered(), LETTERS.buffer(-0.1), 3.8),
        (plain() - prism(CAVE, 1.0, 2.3), CAVE.buffer(-0.1), 0.7),
        (plain() - prism(CAVE, 1.0, 1.05), CAVE.buffer(-0.1), 3.0),
        (plain() - prism(CAVE, 2.0, 4.0), CAVE.buffer(-0.1), 2.0),
    ],
    ids=["plate", "letters", "cave", "gap between layers", "pocket"],
)
def test_walls(solid, within, wall: float) -> None:
    rays = wall_rays(shapely.MultiPolygon(shapely.get_parts([within]).tolist()), 200)
    assert 100 < len(rays) < 400
    found = wall_thickness(triangles(solid), rays)
    assert np.abs(found - wall).max() < 1e-5


def test_there_is_no_wall_beside_the_part_or_in_its_hole() -> None:
    found = wall_thickness(triangles(plain()), np.array([[-24.0, 0.1], [99, 99], [0.01, 0.02]]))
    assert np.isnan(found[:2]).all()
    assert found[2] == pytest.approx(3.0)


def test_nothing_has_no_rays() -> None:
    assert len(wall_rays(shapely.MultiPolygon(), 100)) == 0
