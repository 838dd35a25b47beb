"""The rough place of the drawing in the window: correlation of edges, at many turns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.finding.sampling import sample_image
from preprocess.photo.libraries import opencv
from preprocess.photo.registering.marked_drawing import drawing_image

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Floats, Floats32
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

PX = 5.0
"""Pixels per mm at which the drawing is looked for."""

_QUARTERS = 0.0, 180.0, 90.0, 270.0
_TURNS = np.arange(-10.0, 10.1, 2.5)
_FINER = np.arange(-1.5, 1.6, 0.5)
_SOFT, _AROUND, _MOST = 0.25, 12.0, 6.0
"""mm over which edges are smoothed, and levelled; most that an edge counts, of the mean there."""

_BEYOND = 3.0
"""mm beyond the window that belong to it for a part with a height."""


@dataclass(frozen=True, slots=True)
class RoughPlace:
    """A map from the drawing to the page (3 × 3, mm), the turn in it, and the correlation."""

    map: Floats
    turn: float
    score: float


def rough_places(
    grey: Any,
    camera: CameraMap,
    window: Bounds,
    drawing: MarkedDrawing,
) -> tuple[RoughPlace, ...]:
    """The best place at each quarter turn at which the drawing fits in the window, best first.

    Args:
        grey: the picture.
        camera: the map of the plane of the marks.
        window: left, top, right, bottom on the page, mm.
        drawing: what was marked.
    """
    left, top, right, bottom = window
    box = (left - _BEYOND, top - _BEYOND, right + _BEYOND, bottom + _BEYOND)
    seen = _edges(plane_image(grey, camera, box, PX))
    plain = drawing_image(drawing, PX, drawing.box)
    found = []
    for quarter in _QUARTERS:
        best = _best(seen, plain, quarter + _TURNS)
        if best is not None:
            best = _best(seen, plain, best[1] + _FINER) or best
            found.append(_placed(best, drawing, plain, box))
    return tuple(sorted(found, key=lambda place: -place.score))


def plane_image(picture: Any, camera: CameraMap, box: Bounds, px: float) -> Floats32:
    """A picture as seen from straight above a plane, at `px` pixels per mm within a box."""
    left, top, right, bottom = box
    x = left + (np.arange(round((right - left) * px)) + 0.5) / px
    y = top + (np.arange(round((bottom - top) * px)) + 0.5) / px
    places = np.stack(np.meshgrid(x, y), axis=-1)
    pixels = camera.pixels(places.reshape(-1, 2)).reshape(places.shape)
    return sample_image(picture, pixels)


def _edges(image: Floats32) -> Floats32:
    """Strength of the edges over the mean strength around: alike for lighter and darker marks."""
    cv2 = opencv()
    soft = cv2.GaussianBlur(image, (0, 0), _SOFT * PX)
    strength = cv2.magnitude(cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1))
    side = int(_AROUND * PX) | 1
    level = cv2.blur(strength, (side, side)) + 1e-3 * float(soft.max()) + 1e-6
    return np.minimum(strength / level, _MOST)


def _best(
    seen: Floats32, plain: Floats32, turns: Sequence[float] | Floats
) -> tuple[float, float, tuple[int, int]] | None:
    """Score, turn and corner of the best place; None if the drawing is larger than the window."""
    cv2 = opencv()
    best = None
    for turn, turned in _turned(plain, turns):
        if turned.shape[0] > seen.shape[0] or turned.shape[1] > seen.shape[1]:
            continue
        match = cv2.matchTemplate(seen, _edges(turned), cv2.TM_CCOEFF_NORMED)
        _, score, _, corner = cv2.minMaxLoc(match)
        if best is None or score > best[0]:
            best = (float(score), turn, corner)
    return best


def _turned(plain: Floats32, turns: Sequence[float] | Floats) -> Iterator[tuple[float, Floats32]]:
    cv2 = opencv()
    for turn in turns:
        matrix, size = _turning(plain.shape, float(turn))
        yield float(turn), cv2.warpAffine(plain, matrix[:2], size)


def _turning(shape: tuple[int, ...], turn: float) -> tuple[Floats, tuple[int, int]]:
    """The map from pixels of an image to those of the turned one, and its width and height."""
    high, wide = shape[:2]
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    size = (round(wide * abs(c) + high * abs(s)), round(wide * abs(s) + high * abs(c)))
    middle, new = np.array([wide - 1, high - 1]) / 2, (np.array(size) - 1) / 2
    matrix = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    matrix[:2, 2] = new - matrix[:2, :2] @ middle
    return matrix, size


def _placed(
    best: tuple[float, float, tuple[int, int]],
    drawing: MarkedDrawing,
    plain: Floats32,
    box: Bounds,
) -> RoughPlace:
    score, turn, corner = best
    matrix, _ = _turning(plain.shape, turn)
    to_pixel = np.array(
        [
            [PX, 0.0, -drawing.box[0] * PX - 0.5],
            [0.0, PX, -drawing.box[1] * PX - 0.5],
            [0.0, 0.0, 1.0],
        ]
    )
    shift = np.array([[1.0, 0.0, corner[0]], [0.0, 1.0, corner[1]], [0.0, 0.0, 1.0]])
    to_mm = np.array(
        [[1 / PX, 0.0, box[0] + 0.5 / PX], [0.0, 1 / PX, box[1] + 0.5 / PX], [0.0, 0.0, 1.0]]
    )
    return RoughPlace(map=to_mm @ shift @ matrix @ to_pixel, turn=turn % 360.0, score=score)
