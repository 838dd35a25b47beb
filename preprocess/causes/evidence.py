"""Evidence for each set of causes: how likely the tones are under it, whatever its sizes.

Tones are a sum of columns whose amounts have a prior of one, of noise by block, and of a slow
field that no cause explains (light, plastic). All of them are Gaussian, so the integral over the
amounts is exact (MacKay, Information Theory, Inference, and Learning Algorithms, chapter 28).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cholesky, solve_triangular
from scipy.special import log_ndtr, logsumexp

from preprocess.causes.found import HEAT, PATCH, TILT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Floats, Integers
    from preprocess.causes.marked_places import MarkedPlaces

    _Chosen = Mapping[frozenset[str], tuple[int, int, int]]

_SLOW = 0.35, 0.7
"""Tried sizes of the slow field, ΔL*."""

_SLOW_LENGTH = 5.0
"""Its length, mm."""

_GRAIN = 0.3, 0.5, 0.8, 1.3
"""Tried sizes of the noise of a block, ΔL*."""

_RIGHT = 0.95
"""Probability that a mark grows stronger with heat: char and foam turn it back."""

_MIDDLING = 0.5, 0.5
"""Sizes of both by which bells are chosen to be looked at closely."""

_USUAL = 0.35
"""Probability of each cause before anything was measured."""


@dataclass(frozen=True, slots=True)
class CauseColumns:
    """Columns of each cause, places × columns; one of `heats`, `tilts` and `bells` at a time.

    The first column of each of `heats` is the excess of heat itself.
    """

    level: Floats
    heats: tuple[Floats, ...]
    tilts: tuple[Floats, ...]
    bells: Floats
    shares: Floats


@dataclass(frozen=True, slots=True)
class Weighed:
    """Log evidence by set of causes; numbers of its likeliest heat, tilt and bell, -1 for none."""

    logs: Mapping[frozenset[str], float]
    chosen: _Chosen

    @property
    def in_order(self) -> list[frozenset[str]]:
        """All sets of causes, the likeliest first."""
        return sorted(self.logs, key=lambda some: (-self._posterior(some), sorted(some)))

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


def likely_bells(places: MarkedPlaces, columns: CauseColumns, count: int) -> list[int]:
    """Numbers of the bells that explain most beside each of the other causes and without them."""
    held = _Products.of(places, _MIDDLING, columns)
    heat, tilt = held.heats[-1], np.concatenate(held.tilts)
    found: set[int] = set()
    for base in ([], [heat], [tilt], [heat, tilt]):
        _, gains = held.gains(np.concatenate([*base, held.level]), 0)
        found.update(np.argsort(-gains, kind="stable")[:count].tolist())
    return sorted(found)


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
    held = _Products.of(places, noise, columns)
    shares = np.log(columns.shares)
    sign = 1 if np.mean(places.tone) > 0 else -1
    warm = [np.concatenate([heat, held.level]) for heat in held.heats]
    logs: dict[frozenset[str], float] = {}
    chosen: dict[frozenset[str], tuple[int, int, int]] = {}
    for with_heat, with_tilt in product((False, True), repeat=2):
        some = frozenset(n for n, is_in in ((HEAT, with_heat), (TILT, with_tilt)) if is_in)
        bases = warm if with_heat else [held.level]
        tries = [np.concatenate([b, t]) for b in bases for t in held.tilts] if with_tilt else bases
        count = len(tries) // len(bases)
        gains = [held.gains(one, sign if with_heat else 0) for one in tries]
        plain = np.array([gain for gain, _ in gains])
        patched = np.array([both for _, both in gains]) + shares
        logs[some] = held.alone + _log_mean(plain)
        chosen[some] = (*divmod(int(np.argmax(plain)), count), -1)
        best, bell = np.unravel_index(int(np.argmax(patched)), patched.shape)
        logs[some | {PATCH}] = held.alone + float(logsumexp(patched)) - float(np.log(len(patched)))
        chosen[some | {PATCH}] = (*divmod(int(best), count), int(bell))
    return logs, chosen


@dataclass(frozen=True, slots=True)
class _Products:
    """Products of all columns, whitened by the noise, so that every set of them costs little.

    `level`, `heats` and `tilts` are numbers of columns. `alone` is the log density of noise alone.
    """

    level: Integers
    heats: list[Integers]
    tilts: list[Integers]
    alone: float
    columns: Floats
    tone: Floats
    bells: Floats
    bell_tones: Floats
    bell_sizes: Floats

    @classmethod
    def of(
        cls, places: MarkedPlaces, noise: tuple[float, float], columns: CauseColumns
    ) -> _Products:
        """Products for these sizes of slow field and noise."""
        factor = cholesky(_covariance(places, *noise), lower=True)
        blocks = [columns.level, *columns.heats, *columns.tilts]
        ends = np.cumsum([0, *(block.shape[1] for block in blocks)]).tolist()
        numbers = [np.arange(a, b) for a, b in pairwise(ends)]
        tone = places.tone - np.mean(places.tone)
        whole = np.column_stack([*blocks, tone, columns.bells])
        white = solve_triangular(factor, whole, lower=True)
        some, tone, bells = white[:, : ends[-1]], white[:, ends[-1]], white[:, ends[-1] + 1 :]
        return cls(
            level=numbers[0],
            heats=numbers[1 : 1 + len(columns.heats)],
            tilts=numbers[1 + len(columns.heats) :],
            alone=-float(np.log(np.diag(factor)).sum()) - 0.5 * float(tone @ tone),
            columns=some.T @ some,
            tone=some.T @ tone,
            bells=some.T @ bells,
            bell_tones=bells.T @ tone,
            bell_sizes=(bells**2).sum(axis=0),
        )

    def gains(self, some: Integers, sign: int) -> tuple[float, Floats]:
        """Log evidence of some columns over that of noise alone, and the same with each bell.

        `sign` is that which the first column's amount should have, 0 for either.
        """
        root = np.linalg.cholesky(np.eye(len(some)) + self.columns[np.ix_(some, some)])
        own = solve_triangular(root, self.tone[some], lower=True)
        across = solve_triangular(root, self.bells[some], lower=True)
        size = self.bell_sizes - (across**2).sum(axis=0)
        along = self.bell_tones - across.T @ own
        gain = 0.5 * float(own @ own) - float(np.log(np.diag(root)).sum())
        both = gain + 0.5 * along**2 / (1 + size) - 0.5 * np.log1p(size)
        if not sign:
            return gain, np.asarray(both)
        # the amount of the first column is normal; a bell beside it moves and widens it
        first = solve_triangular(root, np.eye(len(some))[0], lower=True)
        taken = first @ across
        amounts = sign * (first @ own - taken * along / (1 + size))
        wide = np.sqrt(first @ first + taken**2 / (1 + size))
        alone = _log_signed(np.array(sign * (first @ own) / np.sqrt(first @ first)))
        return gain + float(alone), np.asarray(both + _log_signed(amounts / wide))


def _log_signed(away: Floats) -> Floats:
    """Log of what a sign that is known makes of the evidence; `away` in standard deviations."""
    right = np.log(2 * _RIGHT) + log_ndtr(away)
    wrong = np.log(2 * (1 - _RIGHT)) + log_ndtr(-away)
    return np.asarray(np.logaddexp(right, wrong))


def _covariance(places: MarkedPlaces, slow: float, grain: float) -> Floats:
    """Of the tones of blocks, without any cause, ΔL* squared."""
    away = (places.x[:, None] - places.x) ** 2 + (places.y[:, None] - places.y) ** 2
    field = slow**2 * np.exp(-away / (2 * _SLOW_LENGTH**2))
    return np.asarray(field + np.diag(grain**2 * np.median(places.count) / places.count))


def _log_mean(logs: Floats) -> float:
    return float(logsumexp(logs) - np.log(logs.size))
