"""The camera's response, learned from the frame: greys give its curve, white paper the light.

Per channel, a cubic in the logarithm of the decoded value equals the logarithm of reflectance
plus that of the light, a quadratic over the page. One linear fit finds both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.finding.sampling import sample_image
from preprocess.photo.frame.layout import BAND, GREY, MARKER, REFLECTANCES, RIM
from preprocess.photo.srgb import decode_light

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Points
    from preprocess.photo.finding.found_frame import FoundFrame

_INSET = 0.8
"""mm from the edge of a grey that are not looked at: blur."""

_PACE = 9.0
"""mm between places of white paper."""

_PATCH = 1.2
_SAMPLES = 9
_MIDDLE = -1.5
"""Logarithm of middling light, from which the powers of the curve are taken."""

_DARKEST = 0.003
"""Least decoded light: below it sensors show noise only."""

_BRIGHTEST = 253
"""Code from which a picture tells no more of the light."""

_PRIOR = np.array([0.0, 1.0, 0.0, 0.0]), np.array([3.0, 0.5, 0.2, 0.1])
"""Usual curve in logarithms, and how far cameras may be from it."""

_POWERS = 4

_SLOPE = 0.5
"""How uneven light is, in logarithms from the middle to the rim."""

_ERROR = 0.04
"""Usual error of a printed grey, in logarithms."""


@dataclass(frozen=True, slots=True)
class CameraResponse:
    """Curve and light per channel; `misfit` is the rms error of the greys, in logarithms.

    `clipped` is the share of bare paper that is as bright as the picture can be.

    `curves` are 3 × 4 (channel × power), `lights` 3 × 5 over the page, whose half sides are `half`
    and whose middle is `middle` (mm).
    """

    curves: Floats
    lights: Floats
    middle: Points
    half: Points
    misfit: float
    clipped: float

    def reflectances(self, codes: Any, places: Points) -> Floats:
        """Reflectances of codes (… × 3, 0 to 255) at places on the page (… × 2, mm)."""
        base = _logs(codes)
        curve = sum(self.curves[:, n] * base**n for n in range(_POWERS))
        terms = _light_terms((places - self.middle) / self.half)
        return np.asarray(np.exp(curve - terms @ self.lights.T))


def camera_response(picture: Any, frame: FoundFrame) -> CameraResponse:
    """Learn the response from the greys and the white paper of a frame."""
    greys = np.array(frame.layout.greys)
    white = _white_places(frame)
    middles = np.concatenate([greys[:, :2] + GREY / 2, white])
    sides = [GREY - 2 * _INSET] * len(greys) + [_PATCH] * len(white)
    codes = _patches(picture, frame, middles, np.array(sides))
    known = np.log(np.append(greys[:, 2], np.full(len(white), REFLECTANCES[-1])))
    half, middle = np.array(frame.layout.size) / 2, np.array(frame.layout.size) / 2
    terms = _light_terms((middles - middle) / half)
    fits = [_fitted(_logs(codes[:, channel]), known, terms) for channel in range(3)]
    off = np.array([residual[: len(greys)] for _, residual in fits])
    values = np.array([one for one, _ in fits])
    return CameraResponse(
        curves=values[:, :_POWERS],
        lights=values[:, _POWERS:],
        middle=middle,
        half=half,
        misfit=float(np.sqrt((off**2).mean())),
        clipped=float((codes[len(greys) :] >= _BRIGHTEST).any(axis=1).mean()),
    )


def _fitted(base: Floats, known: Floats, terms: Floats) -> tuple[Floats, Floats]:
    """Curve (4) and light (5), robustly, and what is left over."""
    design = np.column_stack([*(base**n for n in range(_POWERS)), -terms])
    usual = np.append(_PRIOR[0], np.zeros(terms.shape[1]))
    wide = np.append(_PRIOR[1], np.full(terms.shape[1], _SLOPE))
    weights = np.ones(len(base))
    for _ in range(5):
        normal = (design * weights[:, None] / _ERROR**2).T @ design + np.diag(1 / wide**2)
        right = (design * weights[:, None] / _ERROR**2).T @ known + usual / wide**2
        values = np.linalg.solve(normal, right)
        left_over = design @ values - known
        weights = 1 / (1 + (left_over / (2 * _ERROR)) ** 2)
    return values, left_over


def _logs(codes: Any) -> Floats:
    return np.asarray(np.log(np.maximum(decode_light(codes), _DARKEST)) - _MIDDLE)


def _light_terms(at: Points) -> Floats:
    u, v = at[..., 0], at[..., 1]
    return np.stack([u, v, u * u, u * v, v * v], axis=-1)


def _white_places(frame: FoundFrame) -> Points:
    """Places of bare paper: in the rim outside, and between markers and window."""
    wide, high = frame.layout.size
    found = []
    for inset in (RIM / 2, (RIM + MARKER + BAND) / 2):
        across = np.arange(inset + _PACE / 2, wide - inset, _PACE)
        down = np.arange(inset + _PACE / 2, high - inset, _PACE)
        found += [(x, y) for x in across for y in (inset, high - inset)]
        found += [(x, y) for y in down for x in (inset, wide - inset)]
    return np.array(found)


def _patches(picture: Any, frame: FoundFrame, middles: Points, sides: Floats) -> Floats:
    """Median code of each channel in square patches: n × 3."""
    grid = (np.arange(_SAMPLES) + 0.5) / _SAMPLES - 0.5
    u, v = np.meshgrid(grid, grid)
    around = np.stack([u.ravel(), v.ravel()], axis=-1)
    places = middles[:, None] + sides[:, None, None] * around
    pixels = frame.camera.pixels(places.reshape(-1, 2)).reshape(places.shape)
    return np.median(sample_image(picture, pixels), axis=1)
