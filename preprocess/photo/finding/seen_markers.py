"""The markers in a picture: their numbers and corners, twice looked for in poor light."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.errors import Refusal
from preprocess.findings import counted
from preprocess.photo.frame.layout import LEAST_MARKERS, MARKERS
from preprocess.photo.frame.markers import dictionary
from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Points

    Grey = Any

_WINDOW = 4
"""Pixels to each side within which a corner is refined."""


def seen_markers(grey: Grey) -> dict[int, Points]:
    """Corners (4 × 2 pixels, clockwise from the upper left of the page) by number.

    Args:
        grey: the picture, rows × columns of bytes.

    Raises:
        Refusal: too few are seen, or some of them twice; says what may be the matter.
    """
    found = _detected(grey)
    if len(found) < LEAST_MARKERS:
        equal = opencv().createCLAHE(3, (8, 8)).apply(grey)
        found = max(found, _detected(equal), key=len)
    _one_frame(found)
    if len(found) >= LEAST_MARKERS:
        return {number: corners[0] for number, corners in sorted(found.items())}
    if len(_detected(np.ascontiguousarray(grey[:, ::-1]))) >= LEAST_MARKERS:
        raise Refusal("the picture is mirrored", "turn that off in the camera, or mirror it back")
    if not found:
        raise Refusal(
            "no frame is seen in the picture",
            "print one with evenmark frame, lay the part in its window, and take the photo anew",
        )
    raise Refusal(
        f"only {counted(len(found), 'marker')} of {MARKERS} can be read, and {LEAST_MARKERS} must",
        "have the whole frame in the picture, sharp, without shadow or glare on its squares",
    )


def _one_frame(found: Mapping[int, list[Points]]) -> None:
    twice = [number for number, corners in found.items() if len(corners) > 1]
    if len(twice) > 1:
        raise Refusal("two frames are in the picture", "have one frame, and one part, in it")


def _detected(grey: Grey) -> dict[int, list[Points]]:
    cv2 = opencv()
    how = cv2.aruco.DetectorParameters()
    how.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    how.cornerRefinementWinSize = _WINDOW
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary(), how).detectMarkers(grey)
    found: dict[int, list[Points]] = {}
    for square, number in zip(corners, () if numbers is None else numbers.ravel(), strict=True):
        if number < MARKERS:
            found.setdefault(int(number), []).append(np.asarray(square[0], dtype=np.float64))
    return found
