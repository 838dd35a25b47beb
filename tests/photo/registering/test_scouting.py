"""A part that looks the same upside down counts as upright, as the page asks for."""

import cv2
import numpy as np
import pytest
from shapely import MultiPolygon, Polygon

from preprocess.photo.finding.camera_map import CameraMap
from preprocess.photo.registering.marked_drawing import MarkedDrawing
from preprocess.photo.registering.profiles import outline_profiles
from preprocess.photo.registering.rough_place import RoughPlace
from preprocess.photo.registering.scouting import best_starts, is_upright

PX = 8.0
WAIST = Polygon([(4, 4), (20, 4), (14, 9), (20, 14), (4, 14), (10, 9)])
"""Alike after half a turn about (12, 9)."""


@pytest.mark.parametrize(
    ("turn", "upright"), [(0.0, True), (356.0, True), (-6.0, True), (90.0, False), (183.0, False)]
)
def test_upright_is_less_than_an_eighth_of_a_turn(turn, upright):
    assert is_upright(turn) is upright


def test_an_upright_start_is_kept_however_alike_the_other_is():
    picture = np.full((200, 220), 180, np.uint8)
    corners = np.array(WAIST.exterior.coords) * PX - 0.5
    cv2.fillPoly(picture, [np.round(corners * 16).astype(np.int32)], 60, cv2.LINE_AA, 4)
    above = np.array([[PX, 0, -0.5], [0, PX, -0.5], [0, 0, 1]])
    camera = CameraMap(homography=above, bend=0.0, middle=np.array([110.0, 100]), half=110.0)
    profiles = outline_profiles(MarkedDrawing.of_area(MultiPolygon([WAIST])), 0.25)
    half_a_turn = np.array([[-1.0, 0, 24], [0, -1, 18], [0, 0, 1]])
    rough = [
        RoughPlace(map=half_a_turn, turn=180.0, score=0.9),
        RoughPlace(map=np.eye(3), turn=0.0, score=0.8),
    ]
    starts = best_starts(picture, camera, profiles, rough, 1)
    upright = [start for start, turn in starts if turn == 0.0]
    assert len(upright) == 1
    assert upright[0] == pytest.approx(np.eye(3), abs=0.8)
