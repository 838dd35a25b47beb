"""The fine place of the drawing: each point of its outlines looks for its edge along its normal.

A smooth edge slides along itself; so a point tells one thing only, how far the edge lies across it.
Points that see no edge, or one that disagrees with all the rest, are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.registering.profiles import PROFILE_STEP, shifted

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Points
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.registering.profiles import OutlineProfiles

_REACHES = 0.9, 0.6, 0.35, 0.25, 0.25
"""mm along the normal within which an edge is looked for, round by round."""

_ALIKE = 0.7
"""Least correlation of a profile with the drawn one at which an edge counts as found."""

_NEAR = 0.15
"""mm within which a point must find its edge, to be counted as found in the end."""

_FLAT = 1e-9
_NOISE = 0.15
"""mm by which a point is taken to be off, with what it shares with its neighbours."""

_PRIORS = np.array([3.0, 3.0, 0.15, 0.006, 0.003, 0.003, 1e-4, 1e-4, 0.1])
"""Standard deviations of shift (mm), turn, scale, stretch, shear and perspective (1/mm), and of how
far marks have grown beyond their outline (mm)."""

_MOVES = 8
_FORM = slice(3, _MOVES)
"""Of them, those that move points, and those that change the form, which page and camera tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinePlace:
    """A map from the drawing to the page (3 × 3, mm), and how well the drawing was found.

    `sign` is 1 for marks lighter than the plastic, −1 for darker ones. `match` is the share of
    `points` that found their edge; `error` the standard error of the place (mm), at worst within
    the drawing. `scale` is by how much the drawing is larger on the page than drawn.
    """

    map: Floats
    sign: int
    match: float
    points: int
    error: float
    scale: float


def fine_place(grey: Any, camera: CameraMap, profiles: OutlineProfiles, start: Floats) -> FinePlace:
    """Refine a place of the drawing.

    Args:
        grey: the picture.
        camera: the map of the plane of the marks.
        profiles: of the drawing's outlines.
        start: map from the drawing to the page (3 × 3), right to half a millimetre.
    """
    local, normals = profiles.local, profiles.normals
    found = start @ shifted(profiles.centre)
    design = _design(local, normals)
    sign = 0
    for reach in _REACHES:
        match = profiles.agreement(grey, camera, found, reach)
        sign = sign or _sign(match)
        off, alike = _best_offsets(sign * match)
        weights = np.where(alike > _ALIKE, 2 * alike - 1, 0.0)
        values, covariance = _solved(design, off, weights, _form(found))
        found = found @ _small(values)
    residual = np.abs(off - design @ values)
    good = (alike > _ALIKE) & (residual < _NEAR)
    spread = np.sqrt(((residual * weights) ** 2).sum() / max(float((weights**2).sum()), 1e-9))
    return FinePlace(
        map=found @ shifted(-profiles.centre),
        sign=sign,
        match=float(good.mean()),
        points=int(good.sum()),
        error=_standard_error(covariance, local, max(float(spread) / _NOISE, 0.3)),
        scale=float(abs(np.linalg.det(found[:2, :2])) ** 0.5),
    )


def _sign(match: Floats) -> int:
    """Whether the marks are lighter or darker: what most points see more clearly."""
    up, down = (np.maximum(side.max(axis=1) - 0.5, 0.0).sum() for side in (match, -match))
    return 1 if up >= down else -1


def _best_offsets(match: Floats) -> tuple[Floats, Floats]:
    """Where each profile correlates best, between samples (mm), and how well."""
    best = np.argmax(match, axis=1)
    rows = np.arange(len(match))
    inner = np.clip(best, 1, match.shape[1] - 2)
    before, here, after = (match[rows, inner + k] for k in (-1, 0, 1))
    bend = before - 2 * here + after
    curved = np.abs(bend) > _FLAT
    part = np.where(curved, (before - after) / np.where(curved, 2 * bend, 1.0), 0.0)
    off: Floats = (inner + np.clip(part, -0.5, 0.5) - (match.shape[1] - 1) / 2) * PROFILE_STEP
    at_end = (best == 0) | (best == match.shape[1] - 1)
    return np.asarray(off, np.float64), np.where(at_end, 0.0, match[rows, best])


def _design(local: Points, normals: Points) -> Floats:
    """How far each point moves along its normal, by each small change."""
    x, y = local.T
    moves = np.stack(
        [
            [np.ones_like(x), np.zeros_like(x)],
            [np.zeros_like(x), np.ones_like(x)],
            [-y, x],
            [x, y],
            [x, -y],
            [y, x],
            [-x * x, -x * y],
            [-x * y, -y * y],
        ]
    )
    along = np.einsum("kdn,nd->nk", moves, normals)
    return np.column_stack([along, np.ones(len(along))])


def _form(place: Floats) -> Floats:
    """Scale, stretch, shear and perspective of a map so far, whatever its shift and turn."""
    turn = np.arctan2(place[1, 0] - place[0, 1], place[0, 0] + place[1, 1])
    c, s = np.cos(turn), np.sin(turn)
    upright = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]) @ place
    return _flat(upright)[_FORM]


def _solved(design: Floats, off: Floats, weights: Floats, form: Floats) -> tuple[Floats, Floats]:
    """The small changes that move the points where they saw their edges, robustly.

    `form` is what the place has of scale, stretch, shear and perspective already.
    """
    values: Floats = np.zeros(len(_PRIORS))
    so_far = np.zeros(len(_PRIORS))
    so_far[_FORM] = form
    for _ in range(12):
        residual = off - design @ values
        known = weights > 0
        scale = max(1.48 * float(np.median(np.abs(residual[known]))) if known.any() else 1.0, 0.03)
        robust = weights * np.maximum(1 - (residual / (4 * scale)) ** 2, 0.0)
        normal = (design * (robust / _NOISE)[:, None]).T @ (design / _NOISE)
        normal += np.diag(1 / _PRIORS**2)
        right = (design * robust[:, None]).T @ off / _NOISE**2 - so_far / _PRIORS**2
        values = np.asarray(np.linalg.solve(normal, right), np.float64)
    return values, np.asarray(np.linalg.inv(normal), np.float64)


def _small(values: Floats) -> Floats:
    tx, ty, turn, scale, stretch, shear, g, h = values[:_MOVES]
    return np.array(
        [
            [1 + scale + stretch, -turn + shear, tx],
            [turn + shear, 1 + scale - stretch, ty],
            [g, h, 1.0],
        ]
    )


def _flat(step: Floats) -> Floats:
    a, b, tx = step[0]
    c, d, ty = step[1]
    halves = (c - b) / 2, (a + d) / 2 - 1, (a - d) / 2, (b + c) / 2
    return np.array([tx, ty, *halves, *step[2, :2]])


def _standard_error(covariance: Floats, local: Points, spread: float) -> float:
    """At worst over the corners of the drawing, mm; points share their errors with neighbours."""
    low, high = local.min(axis=0), local.max(axis=0)
    corners = np.array([(x, y) for x in (low[0], high[0]) for y in (low[1], high[1])])
    worst = 0.0
    for axis in np.eye(2):
        rows = _design(corners, np.tile(axis, (4, 1)))[:, :_MOVES]
        moves = covariance[:_MOVES, :_MOVES]
        worst = max(worst, float(np.einsum("nk,kl,nl->n", rows, moves, rows).max()))
    return spread * worst**0.5
