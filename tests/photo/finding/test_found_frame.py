"""The frame in a picture, against the camera that took it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from preprocess.errors import Refusal
from preprocess.photo.finding.found_frame import find_frame


@pytest.fixture(scope="module")
def grey(blades):
    return cv2.cvtColor(blades.shot.picture, cv2.COLOR_RGB2GRAY)


@pytest.fixture(scope="module")
def found(grey):
    return find_frame(grey)


def test_places_of_the_page_are_found_to_a_twentieth_of_a_millimetre(found, blades, page) -> None:
    at = np.array([(x, y) for x in (0, 40, 109) for y in (0, 45, 89)], float)
    on_sheet = np.column_stack([at + page.corner, np.zeros(len(at))])
    true = blades.shot.camera.project(on_sheet)
    off = np.hypot(*(found.camera.pixels(at) - true).T) / blades.shot.camera.px_per_mm
    assert off.max() < 0.05


def test_the_frame_is_told_by_its_markers(found) -> None:
    assert (found.layout.width, found.layout.height) == (75.0, 55.0)
    assert found.markers == 14
    assert found.fit < 0.03


def test_pixels_per_millimetre_are_those_of_the_camera(found, blades) -> None:
    assert found.px_per_mm == pytest.approx(blades.shot.camera.px_per_mm, rel=0.02)


def test_the_edge_is_as_wide_as_the_blur_made_it(found, blades) -> None:
    """10 to 90 % of a step that is blurred by a Gaussian are 2.563 standard deviations."""
    blur = blades.shot.conditions["blur"] / blades.shot.camera.px_per_mm
    assert found.edge == pytest.approx(2.563 * blur, abs=0.06)


def test_a_lifted_plane_is_seen_where_the_camera_sees_it(found, blades, page) -> None:
    at = np.array([(x, y) for x in (20, 90) for y in (20, 70)], float)
    up = found.camera.lifted(5.0, blades.shot.camera.f)
    true = blades.shot.camera.project(np.column_stack([at + page.corner, np.full(4, 5.0)]))
    off = np.hypot(*(up.pixels(at) - true).T) / blades.shot.camera.px_per_mm
    assert off.max() < 0.1


def test_a_mirrored_picture_is_told(grey) -> None:
    with pytest.raises(Refusal, match="mirrored"):
        find_frame(np.ascontiguousarray(grey[:, ::-1]))


def test_a_picture_upside_down_is_no_matter(grey) -> None:
    assert find_frame(np.ascontiguousarray(grey[::-1, ::-1])).markers == 14


def test_no_frame_is_told() -> None:
    with pytest.raises(Refusal, match="no frame is seen"):
        find_frame(np.full((600, 800), 150, np.uint8))


def test_two_frames_are_told(grey) -> None:
    with pytest.raises(Refusal, match="two frames"):
        find_frame(np.concatenate([grey, grey]))


def test_a_frame_half_outside_is_told_with_the_count(grey) -> None:
    with pytest.raises(Refusal, match=r"only \d markers of 14 can be read, and 8 must"):
        find_frame(np.ascontiguousarray(grey[: grey.shape[0] * 2 // 5]))


def test_a_frame_without_contrast_is_told_in_a_sentence(grey) -> None:
    """Codes squeezed into the dark, as of a picture that was spoilt on its way."""
    told = r"hardly differ from their paper|no frame is seen|can be read"
    with pytest.raises(Refusal, match=told):
        find_frame((grey // 5).astype(np.uint8))
