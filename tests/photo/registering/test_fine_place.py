"""The fine place where marks have grown beyond their outline, as light that bleeds makes them."""

import cv2
import numpy as np
import pytest
from shapely import MultiPolygon, Polygon

from preprocess.photo.finding.camera_map import CameraMap, apply_homography
from preprocess.photo.registering.fine_place import fine_place
from preprocess.photo.registering.marked_drawing import MarkedDrawing
from preprocess.photo.registering.profiles import outline_profiles

PX = 10.0
LEAF = Polygon([(4, 4), (24, 5), (19, 12), (15, 20), (13, 20), (9, 12)])


def photo(grown):
    """A camera straight above, and a dark leaf that is larger than drawn by so many mm."""
    leaf = np.array(LEAF.buffer(grown, join_style="mitre").exterior.coords) * PX - 0.5
    picture = np.full((300, 400), 180, np.uint8)
    cv2.fillPoly(picture, [np.round(leaf * 16).astype(np.int32)], 60, cv2.LINE_AA, 4)
    picture = cv2.GaussianBlur(picture, (0, 0), 1.0)
    above = np.array([[PX, 0, -0.5], [0, PX, -0.5], [0, 0, 1]])
    return picture, CameraMap(homography=above, bend=0.0, middle=np.array([200.0, 150]), half=200.0)


@pytest.mark.parametrize("grown", [0.0, 0.08, -0.08])
def test_a_mark_that_has_grown_is_not_taken_for_a_larger_page(grown):
    picture, camera = photo(grown)
    profiles = outline_profiles(MarkedDrawing.of_area(MultiPolygon([LEAF])), 0.25)
    start = np.array([[1, 0, 0.3], [0, 1, -0.2], [0, 0, 1]])
    found = fine_place(picture, camera, profiles, start)
    corners = np.array(LEAF.exterior.coords)
    off = np.hypot(*(apply_homography(found.map, corners) - corners).T)
    assert off.max() < 0.05
    assert found.scale == pytest.approx(1.0, abs=0.002)
    assert found.sign == -1
