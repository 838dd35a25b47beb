"""The swell of the ground: bare plastic that is lighter in a patch, where a lamp is mirrored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Floats32
    from preprocess.photo.tone.plate_view import PlateView

_PX = 4.0
_SMOOTH = 1.5
"""mm over which the ground is averaged."""

_KNOWN = 0.02
"""Share of bare ground around a place from which its swell is known."""

_ROUGH = 0.02
"""Usual roughness of plastic, in logarithms."""


@dataclass(frozen=True, slots=True)
class GroundField:
    """The bare plastic on the pixels of a view, as it would be without marks.

    `even` is the logarithm of its luminance without patches, `swell` the relative excess over that.
    """

    even: Floats32
    swell: Floats32


def ground_field(view: PlateView) -> GroundField:
    """The ground of a view: an even slope, and how far the plastic departs from it.

    Within marks the swell is that of the ground around them; 0 where there is none.
    """
    cv2 = opencv()
    high, wide = view.luminance.shape
    size = (max(8, round(wide / view.px * _PX)), max(8, round(high / view.px * _PX)))
    bare = view.ground.astype(np.float32)
    logs = np.log(np.maximum(view.luminance, 1e-4)) * bare
    share = cv2.resize(bare, size, interpolation=cv2.INTER_AREA)
    sums = cv2.resize(logs, size, interpolation=cv2.INTER_AREA)
    known = share > 0.5  # noqa: PLR2004 - mostly bare
    if known.sum() < 60:  # noqa: PLR2004 - too little to tell anything
        level = float(np.median(logs[view.ground])) if view.ground.any() else 0.0
        flat = np.full_like(view.luminance, level)
        return GroundField(flat, np.zeros_like(flat))
    even = _even(sums, share, known)
    off = np.where(known, sums / np.maximum(share, 1e-3) - even, 0.0)
    weight = cv2.GaussianBlur(known.astype(np.float32), (0, 0), _SMOOTH * _PX)
    total = cv2.GaussianBlur(off.astype(np.float32), (0, 0), _SMOOTH * _PX)
    swell = np.where(weight > _KNOWN, total / np.maximum(weight, 1e-6), 0.0)

    def large(image: Floats) -> Floats32:
        return np.asarray(
            cv2.resize(image.astype(np.float32), (wide, high), interpolation=cv2.INTER_LINEAR)
        )

    return GroundField(large(even), large(swell))


def _even(sums: Floats, share: Floats, known: Floats) -> Floats:
    """A quadratic through the ground, that bright patches do not pull up."""
    high, wide = share.shape
    v, u = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
    terms = np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=-1)
    value = sums[known] / share[known]
    rows = terms[known]
    weights = np.ones(len(value))
    for _ in range(8):
        found = np.linalg.lstsq(rows * weights[:, None], value * weights, rcond=None)[0]
        off = (value - rows @ found) / _ROUGH
        weights = 1 / np.sqrt(1 + np.where(off > 0, off / 1.0, off / 2.0) ** 2)
    return np.asarray(terms @ found)
