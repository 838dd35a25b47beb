"""How far two pictures of marked pixels agree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

NEAR = 0.995
REACH = 2.0
"""Outlines that lie within this many pixels of one another agree, when they are thin."""

MOST = 0.999
"""Share of the marked pixels that are asked: tips thinner than a pixel show or not by chance."""

AREA = 0.005


@dataclass(frozen=True)
class Agreement:
    """Measures of two pictures; 1, 1, 0, 0 when they are the same.

    `near` is IoU where differences one pixel thin are forgiven. `apart` is the Hausdorff distance
    in pixels of the marked sets, one pixel in a thousand apart. `area` is how much more
    ours marks, as a share of theirs.
    """

    iou: float
    near: float
    apart: float
    area: float

    def holds(self, least: float, *, strict: bool) -> bool:
        """Whether the pictures agree: by their areas, or outline on outline."""
        if self.iou >= least and (not strict or abs(self.area) <= AREA):
            return True
        return self.near >= NEAR and self.apart <= REACH


def agreement(ours: np.ndarray, theirs: np.ndarray) -> Agreement:
    either = np.count_nonzero(ours | theirs)
    if not either:
        return Agreement(1.0, 1.0, 0.0, 0.0)
    wrong = ours ^ theirs
    thick = ndimage.binary_opening(wrong, np.ones((2, 2)))
    more = np.count_nonzero(ours) - np.count_nonzero(theirs)
    return Agreement(
        iou=1 - np.count_nonzero(wrong) / either,
        near=1 - np.count_nonzero(thick) / either,
        apart=_apart(ours, theirs),
        area=more / max(np.count_nonzero(theirs), 1),
    )


def _apart(ours: np.ndarray, theirs: np.ndarray) -> float:
    if not ours.any() or not theirs.any():
        return float(max(ours.shape))
    to_theirs = ndimage.distance_transform_edt(~theirs)[ours]
    to_ours = ndimage.distance_transform_edt(~ours)[theirs]
    return float(max(np.quantile(to_theirs, MOST), np.quantile(to_ours, MOST)))
