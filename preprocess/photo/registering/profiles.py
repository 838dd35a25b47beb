"""Profiles across the outlines of a drawing, as drawn and as seen, and how well they agree."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.finding.camera_map import apply_homography
from preprocess.photo.finding.sampling import sample_grey
from preprocess.photo.libraries import opencv
from preprocess.photo.registering.marked_drawing import drawing_image, outline_points

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Points
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

PROFILE_STEP = 0.05
"""Distance of the samples of a profile, mm."""

_HALF = 0.6
"""Half the length of a drawn profile, mm."""

_PX = 16.0
_LEAST_BLUR = 0.1
_DARK = 4.0
"""Codes added before the logarithm is taken: noise of the darkest parts."""


@dataclass(frozen=True, slots=True)
class OutlineProfiles:
    """Points on the outlines (`local`, from `centre`, mm), their normals, and drawn profiles."""

    centre: Points
    local: Points
    normals: Points
    drawn: Floats

    def some(self, count: int) -> OutlineProfiles:
        """About so many of the points, evenly chosen."""
        every = slice(None, None, max(1, len(self.local) // count))
        return OutlineProfiles(
            self.centre, self.local[every], self.normals[every], self.drawn[every]
        )

    def agreement(self, grey: Any, camera: CameraMap, place: Floats, reach: float) -> Floats:
        """Correlation of seen profiles with drawn ones at shifts up to `reach` mm: n × shifts.

        Args:
            grey: the picture.
            camera: the map of the plane of the marks.
            place: the map from `local` to the page (3 × 3).
            reach: how far along the normals an edge is looked for, mm.
        """
        steps = round((_HALF + reach) / PROFILE_STEP)
        across = np.arange(-steps, steps + 1) * PROFILE_STEP
        at = self.local[:, None] + self.normals[:, None] * across[None, :, None]
        pixels = camera.pixels(apply_homography(place, at.reshape(-1, 2)))
        seen = np.log(sample_grey(grey, pixels).reshape(at.shape[:2]) + _DARK)
        length = self.drawn.shape[1]
        pieces = np.lib.stride_tricks.sliding_window_view(seen, length, axis=1)
        mean = pieces.mean(axis=2)
        spread = np.sqrt(np.maximum((pieces**2).mean(axis=2) - mean**2, 1e-6))
        return np.asarray(np.einsum("nst,nt->ns", pieces, self.drawn) / spread / length)


def outline_profiles(drawing: MarkedDrawing, blur: float) -> OutlineProfiles:
    """Profiles of a drawing, for a picture whose edges are `blur` mm wide."""
    places, normals = outline_points(drawing)
    box = drawing.box
    across = np.arange(-_HALF, _HALF + PROFILE_STEP / 2, PROFILE_STEP)
    image = drawing_image(drawing, _PX, box)
    image = opencv().GaussianBlur(image, (0, 0), max(blur / 2.56, _LEAST_BLUR) * _PX)
    at = places[:, None] + normals[:, None] * across[None, :, None]
    pixels = (at - np.array(box[:2])) * _PX - 0.5
    drawn = sample_grey(image, pixels.reshape(-1, 2)).reshape(pixels.shape[:2])
    away = drawn - drawn.mean(axis=1, keepdims=True)
    centre = (np.array(box[:2]) + box[2:]) / 2
    spread = np.maximum(away.std(axis=1, keepdims=True), 1e-3)
    return OutlineProfiles(centre, places - centre, normals, away / spread)


def shifted(by: Points) -> Floats:
    """A shift as a map (3 × 3)."""
    return np.array([[1.0, 0.0, by[0]], [0.0, 1.0, by[1]], [0.0, 0.0, 1.0]])
