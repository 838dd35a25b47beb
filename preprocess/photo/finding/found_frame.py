"""The frame of a picture: which one it is, and the map from its page to pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares

from preprocess.errors import Refusal
from preprocess.photo.finding.camera_map import CameraMap, apply_homography
from preprocess.photo.finding.marker_edges import (
    edge_profiles,
    edge_width,
    marker_sides,
    tell_sides,
)
from preprocess.photo.finding.seen_markers import seen_markers
from preprocess.photo.frame.layout import BAND, MARKER, MOST_WINDOW, RIM, WINDOW_STEP, FrameLayout
from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from preprocess.arrays import Floats, Points

_BEND = 0.1
"""Usual strength of the radial term, on which it is drawn to 0."""

_ROUGH = 0.5
"""Pixels beyond which a marker's centre counts less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFrame:
    """A frame in a picture: its layout, the map of its page, and how well they fit.

    `fit` is the rms distance of the markers' centres, `edge` the width of their edges (10 to 90 %),
    both mm; `px_per_mm` is that of the middle.
    """

    layout: FrameLayout
    camera: CameraMap
    markers: int
    fit: float
    edge: float
    px_per_mm: float


def find_frame(grey: Any) -> FoundFrame:
    """Find the frame in a picture (rows × columns of bytes).

    Raises:
        Refusal: there is none, or too few of its markers are seen.
    """
    corners = seen_markers(grey)
    numbers = list(corners)
    centres = np.array([_crossing(corners[number]) for number in numbers])
    paces = _rough_paces(corners, centres)
    for _ in range(2):
        layout = _nearest(paces)
        camera = _camera(layout.markers[numbers] + MARKER / 2, centres, grey.shape)
        profiles = edge_profiles(grey, camera, layout.markers[numbers])
        if not tell_sides(profiles):
            raise Refusal(
                "the squares of the frame hardly differ from their paper",
                "print it anew in full black, and expose it evenly",
            )
        paces = layout.paces * MARKER / np.array(marker_sides(profiles))
    px_per_mm = camera.px_per_mm(np.array(layout.size) / 2)
    off = np.hypot(*(camera.pixels(layout.markers[numbers] + MARKER / 2) - centres).T) / px_per_mm
    return FoundFrame(
        layout=layout,
        camera=camera,
        markers=len(numbers),
        fit=float(np.sqrt((off**2).mean())),
        edge=edge_width(profiles),
        px_per_mm=px_per_mm,
    )


def _crossing(corners: Points) -> Points:
    """Where the diagonals of a square cross: its centre, whatever the perspective."""
    a, b, c, d = (np.append(corner, 1.0) for corner in corners)
    crossing = np.cross(np.cross(a, c), np.cross(b, d))
    return np.asarray(crossing[:2] / crossing[2])


def _rough_paces(corners: Mapping[int, Points], centres: Points) -> Floats:
    """From the first to the last marker, across and down (mm), by the size of the squares.

    Blur rounds corners off, so that this is some percent too much.
    """
    any_frame = FrameLayout(100.0, 100.0)
    shares = (any_frame.markers[list(corners)] - RIM) / any_frame.paces
    to_pixels, _ = opencv().findHomography(shares, centres, 0)
    squares = apply_homography(np.linalg.inv(to_pixels), np.concatenate([*corners.values()]))
    a, b, c, d = squares.reshape(-1, 4, 2).transpose(1, 0, 2)
    across = np.median(np.concatenate([b - a, c - d])[:, 0])
    down = np.median(np.concatenate([d - a, c - b])[:, 1])
    return np.asarray(MARKER / np.array([across, down]))


def _nearest(paces: Floats) -> FrameLayout:
    """The frame whose markers lie about so far apart; its window comes in whole steps."""
    sides = paces + 2 * RIM + MARKER - 2 * BAND
    steps = np.round(np.clip(sides, WINDOW_STEP, MOST_WINDOW) / WINDOW_STEP)
    return FrameLayout(*(WINDOW_STEP * float(step) for step in steps))


def _camera(printed: Points, centres: Points, shape: tuple[int, ...]) -> CameraMap:
    high, wide = shape[:2]
    middle = np.array([(wide - 1) / 2, (high - 1) / 2])
    half = max(wide, high) / 2
    start, _ = opencv().findHomography(printed, centres, 0)
    start = (start / start[2, 2]).ravel()[:8]

    def camera(values: Floats) -> CameraMap:
        homography = np.append(values[:8], 1.0).reshape(3, 3)
        return CameraMap(homography=homography, bend=float(values[8]), middle=middle, half=half)

    def misfit(values: Floats) -> Floats:
        off = (camera(values).pixels(printed) - centres).ravel()
        return np.append(off, values[8] / _BEND)

    found = least_squares(
        misfit,
        np.append(start, 0.0),
        x_scale=np.append(np.abs(start) + 1e-6, 0.01),
        loss="soft_l1",
        f_scale=_ROUGH,
        max_nfev=100,
    ).x
    return camera(found)
