"""Heights: levels, focus band, raised, sunk and slanted, against areas worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from preprocess.geometry.relief.heights import area_above, height_areas, height_bands
from tests.geometry.relief.solids import LABEL, LETTERS, lettered, off_by, plain, prism, triangles

POCKET = shapely.box(-18, -8, -12, 8)


def _upper(solid):
    """What of a solid faces up; its outline and heights are those of the whole."""
    mesh = triangles(solid)
    return mesh[np.cross(mesh[:, 1] - mesh[:, 0], mesh[:, 2] - mesh[:, 0])[:, 2] > 0]


def _see(solid, **keys):
    return height_areas(_upper(solid), **({"depth": 0.3, "slant": 15.0} | keys))


def test_raised_letters_are_kept_off_and_the_rest_is_flat() -> None:
    seen = _see(lettered())
    assert seen.plane == pytest.approx(3.0)
    assert seen.top == pytest.approx(3.8)
    assert seen.rise == pytest.approx(0.0)
    assert off_by(seen.outline, LABEL) < 1e-4
    assert off_by(seen.raised, LETTERS) < 1e-4
    assert off_by(seen.flat, LABEL - LETTERS) < 1e-4
    assert seen.sunk.is_empty
    assert seen.slanted.is_empty
    heights = [(round(level.height, 3), round(level.area, 2)) for level in seen.levels]
    assert heights == [
        (3.0, round((LABEL - LETTERS).area, 2)),
        (3.8, round(LETTERS.area, 2)),
    ]


def test_a_pocket_is_sunk_and_its_floor_may_be_named_as_the_surface() -> None:
    solid = plain() - prism(POCKET, 2, 5)
    assert off_by(_see(solid).sunk, POCKET) < 1e-4
    floor = _see(solid, plane=2.0)
    assert off_by(floor.flat, POCKET) < 1e-4
    assert off_by(floor.raised, LABEL - POCKET) < 1e-4


def test_a_deep_focus_takes_the_letters_in() -> None:
    seen = _see(lettered(), depth=0.9)
    assert seen.raised.is_empty
    assert seen.rise == pytest.approx(0.8)
    assert off_by(seen.flat, LABEL) < 1e-4


def test_a_chamfer_of_45_degrees_is_slanted() -> None:
    """From the height 2.8 at the edge to 3 at 0.2 mm inside of it."""
    low, high = shapely.box(0, 0, 40, 20), shapely.box(0.2, 0.2, 39.8, 19.8)
    corners = [(*point, 2.8) for point in low.exterior.coords[:-1]]
    corners += [(*point, 3.0) for point in high.exterior.coords[:-1]]
    import manifold3d

    solid = prism(low, 0, 2.8) + manifold3d.Manifold.hull_points(np.array(corners))
    seen = _see(solid)
    assert off_by(seen.slanted, low - high) < 1e-3
    assert off_by(seen.flat, high) < 1e-3


def test_a_tilted_face_is_in_focus_over_a_stripe() -> None:
    """Leaning 3°, half a millimetre up and down is in focus over 1 / tan 3° = 19.081 mm."""
    lean = np.radians(3)
    solid = prism(LABEL, 0, 40).trim_by_plane((np.sin(lean), 0, -np.cos(lean)), -6 * np.cos(lean))
    seen = _see(solid, depth=0.5)
    left, _, right, _ = seen.flat.bounds
    assert right - left == pytest.approx(1 / np.tan(lean), abs=2e-3)
    assert seen.rise == pytest.approx(1.0)
    assert not seen.levels


def test_a_face_that_leans_more_than_the_slant_faces_nothing() -> None:
    roof = prism(shapely.box(-10, -10, 10, 10), 0, 30)
    for side in (1, -1):
        roof = roof.trim_by_plane((side * np.sin(0.5), 0, -np.cos(0.5)), -12)
    assert _see(roof) is None


def test_what_a_bridge_hides_is_raised() -> None:
    bridge = prism(shapely.box(10, -3, 22, 3), 7, 8)
    posts = prism(shapely.box(10, -3, 11, 3), 0, 8) + prism(shapely.box(21, -3, 22, 3), 0, 8)
    seen = _see(plain() + posts + bridge)
    assert off_by(seen.raised, shapely.box(10, -3, 22, 3)) < 1e-4


def test_a_part_whose_bodies_overlap_is_seen_from_above() -> None:
    mesh = np.concatenate([triangles(plain()), triangles(prism(LETTERS, 1.0, 3.8))])
    seen = height_areas(mesh, depth=0.3, slant=15.0)
    assert off_by(seen.flat, LABEL - LETTERS) < 1e-4


def test_bands_shrink_upward() -> None:
    bands = height_bands(triangles(lettered()), 10)
    assert [round(height, 2) for height, _ in bands] == [round(0.38 * n, 2) for n in range(10)]
    assert off_by(bands[0][1], LABEL) < 1e-4
    assert off_by(bands[9][1], LETTERS) < 1e-4
    assert off_by(area_above(triangles(lettered()), 3.5), LETTERS) < 1e-4
