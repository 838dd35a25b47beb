"""The map from a page to pixels: a homography, and one radial term about the picture's middle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Points


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraMap:
    """From places on a plane (mm) to pixels, whose middles are whole numbers.

    `homography` is 3 × 3. Distances from the picture's `middle` are in units of `half`, half its
    longer side, for the radial term `bend`.
    """

    homography: Floats
    bend: float
    middle: Points
    half: float

    def pixels(self, places: Points) -> Points:
        """Pixels of places: n × 2."""
        flat = apply_homography(self.homography, places)
        away = (flat - self.middle) / self.half
        r2 = (away**2).sum(axis=1, keepdims=True)
        return np.asarray(self.middle + self.half * away * (1 + self.bend * r2))

    def px_per_mm(self, place: Points) -> float:
        """Pixels per mm at a place: the root of how much an area grows."""
        corners = self.pixels(place + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        return float(abs(np.linalg.det(corners[1:] - corners[0])) ** 0.5)

    def lifted(self, height: float, focal: float) -> CameraMap:
        """The map of the plane at a height (mm) above the page; `focal` is in pixels."""
        camera = np.array(
            [[focal, 0.0, self.middle[0]], [0.0, focal, self.middle[1]], [0.0, 0.0, 1.0]]
        )
        pose = np.linalg.solve(camera, self.homography)
        pose /= (np.linalg.norm(pose[:, 0]) + np.linalg.norm(pose[:, 1])) / 2
        pose *= 1.0 if pose[2, 2] > 0 else -1.0
        into = np.cross(pose[:, 0], pose[:, 1])
        moved = np.column_stack([pose[:, 0], pose[:, 1], pose[:, 2] - height * into])
        return replace(self, homography=camera @ moved)


def apply_homography(matrix: Floats, places: Points) -> Points:
    """Places (n × 2) moved by a homography (3 × 3)."""
    moved = places @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(moved[:, :2] / moved[:, 2:])
