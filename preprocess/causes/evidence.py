"""Evidence for each set of causes: how likely the tones are under it, whatever its sizes.

Tones are a sum of columns whose amounts have a prior of one, of noise by block, and of a slow
field that no cause explains (light, plastic). All of them are Gaussian, so the integral over the
amounts is exact (MacKay, Information Theory, Inference, and Learning Algorithms, chapter 28).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cholesky, solve_triangular
from scipy.special import logsumexp

from preprocess.causes.found import HEAT, PATCH, TILT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Floats
    from preprocess.causes.marked_places import MarkedPlaces

    _Chosen = Mapping[frozenset[str], tuple[int, int]]

_SLOW = 0.35, 0.7
"""Tried sizes of the slow field, ΔL*."""

_SLOW_LENGTH = 5.0
"""Its length, mm."""

_GRAIN = 0.3, 0.5, 0.8, 1.3
"""Tried sizes of the noise of a block, ΔL*."""

_USUAL = 0.35
"""Probability of each cause before anything was measured."""


@dataclass(frozen=True, slots=True)
class CauseColumns:
    """Columns of each cause, places × columns; one of `bends` and of `bells` counts at a time."""

    level: Floats
    heat: Floats
    plane: Floats
    bends: Floats
    bells: Floats


@dataclass(frozen=True, slots=True)
class Weighed:
    """Log evidence by set of causes; numbers of the likeliest bend and bell in it, -1 for none."""

    logs: Mapping[frozenset[str], float]
    chosen: _Chosen

    @property
    def likeliest(self) -> frozenset[str]:
        """The set of causes with most probability."""
        return max(self.logs, key=lambda some: (self._posterior(some), sorted(some)))

    @property
    def sure(self) -> dict[str, float]:
        """Probability of each cause over all sets."""
        logs = np.array([self._posterior(some) for some in self.logs])
        shares = np.exp(logs - logsumexp(logs)).tolist()
        return {
            name: sum(share for some, share in zip(self.logs, shares, strict=True) if name in some)
            for name in (HEAT, TILT, PATCH)
        }

    def _posterior(self, some: frozenset[str]) -> float:
        return self.logs[some] + len(some) * float(np.log(_USUAL / (1 - _USUAL)))


def weigh(places: MarkedPlaces, columns: CauseColumns) -> Weighed:
    """Weigh every set of heat, tilt and patch."""
    found = [_weigh(places, noise, columns) for noise in product(_SLOW, _GRAIN)]
    logs = {some: float(logsumexp([held[some] for held, _ in found])) for some in found[0][0]}
    best = int(np.argmax([max(held.values()) for held, _ in found]))
    return Weighed(logs, found[best][1])


def _weigh(
    places: MarkedPlaces, noise: tuple[float, float], columns: CauseColumns
) -> tuple[dict[frozenset[str], float], _Chosen]:
    """Log evidence of each set at these sizes of slow field and noise, and what was chosen."""
    factor = cholesky(_covariance(places, *noise), lower=True)
    held = (columns.level, columns.heat, columns.plane, columns.bends, columns.bells)
    level, heat, plane, bends, bells = (solve_triangular(factor, c, lower=True) for c in held)
    tone = solve_triangular(factor, places.tone - np.mean(places.tone), lower=True)
    start = -float(np.log(np.diag(factor)).sum()) - 0.5 * float(tone @ tone)
    logs: dict[frozenset[str], float] = {}
    chosen: dict[frozenset[str], tuple[int, int]] = {}
    for with_heat, with_tilt in product((False, True), repeat=2):
        base = np.asarray(np.column_stack([level, heat] if with_heat else [level]))
        tries = [np.column_stack([base, plane, bend]) for bend in bends.T] if with_tilt else [base]
        gains = [_gains(one, tone, bells) for one in tries]
        plain = np.array([gain for gain, _ in gains])
        patched = np.array([gain + more for gain, more in gains])
        some = frozenset(n for n, is_in in ((HEAT, with_heat), (TILT, with_tilt)) if is_in)
        bend, bell = np.unravel_index(int(np.argmax(patched)), patched.shape)
        logs[some] = start + _log_mean(plain)
        chosen[some] = int(np.argmax(plain)), -1
        logs[some | {PATCH}] = start + _log_mean(patched)
        chosen[some | {PATCH}] = int(bend), int(bell)
    return logs, chosen


def _covariance(places: MarkedPlaces, slow: float, grain: float) -> Floats:
    """Of the tones of blocks, without any cause, ΔL* squared."""
    away = (places.x[:, None] - places.x) ** 2 + (places.y[:, None] - places.y) ** 2
    field = slow**2 * np.exp(-away / (2 * _SLOW_LENGTH**2))
    return np.asarray(field + np.diag(grain**2 * np.median(places.count) / places.count))


def _gains(columns: Floats, tone: Floats, bells: Floats) -> tuple[float, Floats]:
    """Log evidence of columns over that of noise alone, and what each bell adds to it."""
    root = np.linalg.cholesky(np.eye(columns.shape[1]) + columns.T @ columns)
    own = solve_triangular(root, columns.T @ tone, lower=True)
    across = solve_triangular(root, columns.T @ bells, lower=True)
    size = (bells**2).sum(axis=0) - (across**2).sum(axis=0)
    along = bells.T @ tone - across.T @ own
    gain = 0.5 * float(own @ own) - float(np.log(np.diag(root)).sum())
    return gain, np.asarray(0.5 * along**2 / (1 + size) - 0.5 * np.log1p(size))


def _log_mean(logs: Floats) -> float:
    return float(logsumexp(logs) - np.log(logs.size))
