"""Heat under a moving Gaussian beam in an insulated half-space that absorbs in depth.

The stretch under the beam and the few before are integrated over the beam's way, by Gauss's rule:
no local time, exact ends. All that was marked before is so far behind the beam that each of its
points may count as lit at once (the error is α/(v²τ)). The peak is the largest over the visits of
all rows near, whichever round they belong to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import erfcx, ndtr

if TYPE_CHECKING:
    from tests.second_simulator.beam import Light


CELL = 0.2
FRESH = 3
"""Stretches, that under the beam and those just before, that are integrated over the beam's way."""

NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Plastic:
    """W/mm/K, J/mm³/K, mm; `sigma` is the beam's standard deviation, a quarter of its diameter."""

    conductivity: float = 1.5e-4
    capacity: float = 2.232e-3
    depth: float = 0.05
    sigma: float = 0.02

    @property
    def alpha(self) -> float:
        return self.conductivity / self.capacity

    def sinks(self, age: np.ndarray) -> np.ndarray:
        """Heat at the surface from light absorbed in depth, per area: 1/mm."""
        return erfcx(np.sqrt(self.alpha * age) / self.depth) / self.depth


@dataclass(frozen=True)
class Cells:
    """Pieces of lit stretches: middle, stretch, length; peak rises, cells × spreads, K per W."""

    x: np.ndarray
    stretch: np.ndarray
    length: np.ndarray
    peak: np.ndarray


def cells_of(light: Light) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Middle, stretch and length of the cells, no longer than CELL."""
    count = np.maximum(1, np.ceil((light.b - light.a) / CELL - 1e-9)).astype(int)
    stretch = np.repeat(np.arange(len(count)), count)
    number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    length = ((light.b - light.a) / count)[stretch]
    return light.a[stretch] + (number + 0.5) * length, stretch, length


def peaks(light: Light, plastic: Plastic, spreads: tuple[float, ...]) -> Cells:
    """The peak of every cell at each spread."""
    x, stretch, length = cells_of(light)
    return Cells(x, stretch, length, peaks_at(light, plastic, spreads, x, stretch))


def peaks_at(
    light: Light,
    plastic: Plastic,
    spreads: tuple[float, ...],
    x: np.ndarray,
    stretch: np.ndarray,
) -> np.ndarray:
    """Peaks at places of stretches, given in the order of the stretches: places × spreads."""
    smooth = np.array(spreads) ** 2 / 12
    window = 3.2 * math.sqrt(plastic.sigma**2 + smooth.max())
    lag = {v: best_lag(plastic, v, float(smooth[0])) for v in np.unique(light.speed).tolist()}
    lags = np.array([lag[v] for v in light.speed.tolist()])
    out = np.zeros((len(x), len(spreads)))
    order = np.argsort(stretch, kind="stable")
    for some in np.split(order, np.flatnonzero(np.diff(stretch[order])) + 1):
        if len(some):
            mine = int(stretch[some[0]])
            out[some] = _of_stretch(light, plastic, smooth, x[some], mine, window, lags)
    return out


def _of_stretch(light, plastic, smooth, x, mine, window, lags):
    y = light.y[mine]
    beside = np.flatnonzero(
        (np.abs(light.y - y) <= window)
        & (light.a <= x.max() + 0.12)
        & (light.b >= x.min() - 0.12)
        & (light.t0 >= light.t0[mine] - 1e-9)
    )
    visit = _visit(light, beside, x)
    left = light.t0[beside] + (light.b[beside] - light.a[beside]) / light.speed[beside] - visit
    now = visit + np.minimum(lags[beside], left)  # where the light ends, it cools at once
    last = float(now.max())
    wide = plastic.sigma**2 + 2 * plastic.alpha * (last - light.t0) + smooth.max()
    far = np.maximum(0, np.maximum(light.a - x.max(), x.min() - light.b))
    long = plastic.sigma**2 + 2 * plastic.alpha * np.maximum(last - light.t0, 0.0)
    heats = (light.t0 < last) & ((light.y - y) ** 2 < 24 * wide) & (far**2 < 24 * long)
    sources = np.flatnonzero(heats)
    total = _earlier(light, plastic, smooth, x, y, sources, beside, now)
    for earlier in range(FRESH):
        some = beside >= earlier
        total[:, some] += _integrated(
            light, plastic, smooth, x, y, beside[some] - earlier, now[:, some]
        )
    reached = (x[:, None] > light.a[beside] - 0.06) & (x[:, None] < light.b[beside] + 0.06)
    return np.where(reached[:, :, None], total, 0.0).max(axis=1)


def _visit(light: Light, which: np.ndarray, x: np.ndarray) -> np.ndarray:
    """When the beam passes places on stretches, or the nearest end to them: places × stretches."""
    a, b = light.a[which], light.b[which]
    near = np.clip(x[:, None], a, b)
    way = np.where(light.forward[which], near - a, b - near)
    return light.t0[which] + way / light.speed[which]


def _earlier(light, plastic, smooth, x, y, sources, beside, now):
    """Rise from all other stretches at each visit: places × visits × spreads."""
    out = np.zeros((*now.shape, len(smooth)))
    lit_at = _visit(light, sources, x)
    away = (y - light.y[sources]) ** 2
    a, b = light.a[sources] - x[:, None], light.b[sources] - x[:, None]
    for k, visited in enumerate(beside.tolist()):
        age = now[:, k, None] - lit_at
        fresh = (sources <= visited) & (sources > visited - FRESH)
        use = (age > 0) & ~fresh
        age = np.where(use, age, 1.0)
        along = plastic.sigma**2 + 2 * plastic.alpha * age
        root = np.sqrt(along)
        lit = ndtr(b / root) - ndtr(a / root)
        rise = np.where(use, light.energy[sources] * lit * plastic.sinks(age), 0.0)
        for n, more in enumerate(smooth):
            across = along + more
            out[:, k, n] = (rise * np.exp(-away / (2 * across)) / np.sqrt(across)).sum(axis=1)
    return out / (plastic.capacity * math.sqrt(2 * math.pi))


def _integrated(light, plastic, smooth, x, y, sources, now):
    """Rise from one stretch at each visit, integrated over the beam's way: as `_earlier`."""
    speed, ahead = light.speed[sources], light.forward[sources]
    sign = np.where(ahead, 1.0, -1.0)
    # the way of the beam as seen from the place; it is lit from `entry` to `leave`
    entry = sign * (np.where(ahead, light.a[sources], light.b[sources]) - x[:, None])
    leave = sign * (np.where(ahead, light.b[sources], light.a[sources]) - x[:, None])
    since = now - light.t0[sources]
    passed = np.clip(0.0, entry, leave)
    oldest = np.maximum(since - (passed - entry) / speed, 0.0)
    reach = 9 * np.sqrt(plastic.sigma**2 + 2 * plastic.alpha * oldest)
    low = np.maximum(entry, -reach)
    high = np.minimum(np.minimum(leave, reach), entry + since * speed)
    half = np.maximum(high - low, 0.0) / 2
    place = ((low + high) / 2)[..., None] + half[..., None] * NODES
    age = np.maximum(since[..., None] - (place - entry[..., None]) / speed[:, None], 1e-12)
    along = plastic.sigma**2 + 2 * plastic.alpha * age
    rise = plastic.sinks(age) * np.exp(-(place**2) / (2 * along)) / np.sqrt(along)
    rise = rise * half[..., None] * WEIGHTS
    away = ((y - light.y[sources]) ** 2)[:, None]
    scale = light.energy[sources] / (2 * math.pi * plastic.capacity)
    across = along[..., None] + smooth
    seen = np.exp(-away[..., None] / (2 * across)) / np.sqrt(across)
    return scale[:, None] * np.einsum("xkn,xkns->xks", rise, seen)


def best_lag(plastic: Plastic, speed: float, smooth: float) -> float:
    """After how long an endless row is hottest where the beam has just passed, s."""
    trial = np.linspace(0.5, 6.0, 56) * plastic.sigma / speed
    ahead = np.zeros(len(trial))
    for n, lag in enumerate(trial):
        low, high = -9 * plastic.sigma, lag * speed
        place = (low + high) / 2 + (high - low) / 2 * NODES
        age = (high - place) / speed
        along = plastic.sigma**2 + 2 * plastic.alpha * age
        felt = plastic.sinks(age) * np.exp(-(place**2) / (2 * along)) / np.sqrt(along)
        ahead[n] = (high - low) / 2 * WEIGHTS @ (felt / np.sqrt(along + smooth))
    return float(trial[np.argmax(ahead)])
