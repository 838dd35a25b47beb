"""The edges of a frame's markers: how large the markers are, and how sharp the picture is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.finding.sampling import sample_grey
from preprocess.photo.frame.layout import MARKER
from preprocess.photo.srgb import decode_light

if TYPE_CHECKING:
    from typing import Any

    from preprocess.arrays import Floats, Points
    from preprocess.photo.finding.camera_map import CameraMap

_REACH, _STEP = 1.4, 0.05
"""mm to each side of an edge that are looked at, and from one sample to the next."""

_ALONG = np.linspace(3.0, 7.0, 5)
"""mm along a side at which it is crossed."""

_CONTRAST = 0.04
"""Least difference between paper and ink, of full light, at which an edge is judged."""

_LEVEL = 10
"""Samples at each end of a profile that tell the level there."""


def edge_profiles(grey: Any, camera: CameraMap, corners: Points) -> Floats:
    """Share of light across each side of each marker, from the paper to the ink: n × 4 × samples.

    Sides come as left, right, top, bottom; nan where there is too little contrast.
    """
    across = np.arange(-_REACH, _REACH + _STEP / 2, _STEP)
    places = np.stack([_across(side, across) for side in range(4)])
    grid = corners[:, None, None, None, :] + places
    seen = sample_grey(grey, camera.pixels(grid.reshape(-1, 2))).reshape(grid.shape[:-1])
    mean = decode_light(seen).mean(axis=2)
    white, black = (
        np.median(mean[..., part], axis=-1, keepdims=True)
        for part in (slice(_LEVEL), slice(-_LEVEL, None))
    )
    clear = white - black > _CONTRAST
    return np.where(clear, (mean - black) / np.where(clear, white - black, 1.0), np.nan)


def tell_sides(profiles: Floats) -> bool:
    """Test whether at least one marker shows both its sides across, and one both down."""
    known = np.isfinite(profiles.sum(axis=-1))
    return all(bool((known[:, n] & known[:, n + 1]).any()) for n in (0, 2))


def marker_sides(profiles: Floats) -> tuple[float, float]:
    """Width and height of the markers (mm): blur moves no edge, as it moves corners."""
    inside = _REACH - profiles.sum(axis=-1) * _STEP
    left, right, top, bottom = inside.T
    return float(MARKER + np.nanmedian(left + right)), float(MARKER + np.nanmedian(top + bottom))


def edge_width(profiles: Floats) -> float:
    """Median width of the edges from 10 to 90 % of the light, mm."""
    widths = [_width(profile) for profile in profiles.reshape(-1, profiles.shape[-1])]
    return float(np.nanmedian(widths))


def _width(profile: Floats) -> float:
    if np.isnan(profile).any():
        return float("nan")
    falling = np.minimum.accumulate(profile)[::-1]
    ends = np.interp([0.1, 0.9], falling, np.arange(len(falling)))
    return float((ends[1] - ends[0]) * _STEP)


def _across(side: int, across: Floats) -> Floats:
    """Places (along × across × 2) that cross one side inwards, from a marker's corner."""
    along, into = np.meshgrid(_ALONG, across, indexing="ij")
    into = into if side % 2 == 0 else MARKER - into
    return np.stack([into, along] if side < 2 else [along, into], axis=-1)  # noqa: PLR2004
