"""Green's functions of linear heat conduction in an insulated half-space or slab, at its surface.

Temperatures are rises over the surroundings in K; mm, s, W, J. `alpha` is the diffusivity (mm²/s),
`capacity` the heat capacity per volume (J/mm³/K), `depth` the optical depth over which the light is
absorbed (mm; 0 is a surface absorber), `sigma` the standard deviation of the Gaussian beam (mm; a
quarter of its 1/e² diameter). Energies and powers are absorbed ones.

Local time exposes a point at once. A real beam takes a while to pass, and the heat that it leaves
first has begun to sink away by then: see `own_row`. The slower the beam and the shallower the light
is absorbed, the more that matters: at 100 mm/s and 0.02 mm local time is a third too high.

Sources: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (1959), ch. X; for the moving
Gaussian T. W. Eagar, N.-S. Tsai, Welding Journal 62 (1983) 346s. The factor in depth for
exponential absorption is the convolution of their surface source with exp(−z/depth)/depth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from preprocess.arrays import Floats


_THIN = 0.008
"""Fourier number alpha tau / H² below which a slab of thickness H feels no underside (to 1e-13)."""

_MODES = 32
"""Terms of the slab's cosine series: beyond them exp(−n² π² THIN) is below 1e-35."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """A body that absorbs light. `thickness` None is a half-space, else its underside is insulated.

    `conductivity` in W/mm/K, `capacity` in J/mm³/K, `depth` and `thickness` in mm.
    """

    conductivity: float = 1.5e-4
    capacity: float = 2.232e-3
    depth: float = 0.05
    thickness: float | None = None

    @property
    def alpha(self) -> float:
        """Diffusivity, mm²/s."""
        return self.conductivity / self.capacity

    def depth_factor(self, tau: ArrayLike) -> Floats:
        """The share g(tau) of areal energy that is felt at the surface, per mm, after tau > 0 s.

        Half-space: erfcx(√(alpha tau)/depth)/depth, 1/√(pi alpha tau) for depth 0. Slab: the
        cosine series of the absorbed profile between two insulated faces, which is the sum over
        all mirror images (method of images); what passes through the slab unabsorbed is lost.
        """
        tau = np.asarray(tau, dtype=float)
        if self.thickness is None:
            return self._half_space(tau)
        fourier = self.alpha * tau / self.thickness**2
        early = self._half_space(np.minimum(tau, _THIN * self.thickness**2 / self.alpha))
        return np.where(fourier < _THIN, early, self._slab(np.maximum(fourier, _THIN)))

    def _half_space(self, tau: Floats) -> Floats:
        from scipy.special import erfcx

        diffused = np.sqrt(self.alpha * tau)
        if self.depth == 0:
            with np.errstate(divide="ignore"):
                return 1 / (math.sqrt(math.pi) * diffused)
        return erfcx(diffused / self.depth) / self.depth

    def _slab(self, fourier: Floats) -> Floats:
        height = self.thickness or 1.0
        n = np.arange(1, _MODES + 1)
        left_over = math.exp(-height / self.depth) if self.depth else 0.0
        weights = (1 - (-1.0) ** n * left_over) / (1 + (n * math.pi * self.depth / height) ** 2)
        decay = np.exp(-np.multiply.outer(fourier, (n * math.pi) ** 2))
        return (1 - left_over + 2 * (decay @ weights)) / height

    def point(self, energy: float, distance: ArrayLike, tau: ArrayLike, *, sigma: float) -> Floats:
        """A pulse of a Gaussian spot, seen `distance` mm from its centre tau s later."""
        spread = sigma**2 + 2 * self.alpha * np.asarray(tau, dtype=float)
        flat = np.exp(-(np.asarray(distance) ** 2) / (2 * spread)) / (2 * math.pi * spread)
        return energy / self.capacity * self.depth_factor(tau) * flat

    def line(
        self,
        energy: float | Floats,
        y: ArrayLike,
        tau: ArrayLike,
        *,
        sigma: float,
        smooth: float = 0.0,
    ) -> Floats:
        """An endless line of `energy` J/mm, seen y mm beside it tau s after its exposure.

        `smooth` is the variance (mm²) of a Gaussian by which the answer is smoothed across.
        """
        spread = sigma**2 + smooth + 2 * self.alpha * np.asarray(tau, dtype=float)
        across = np.exp(-(np.asarray(y) ** 2) / (2 * spread)) / np.sqrt(2 * math.pi * spread)
        return energy / self.capacity * self.depth_factor(tau) * across

    def run(
        self,
        energy: float | Floats,
        ends: tuple[ArrayLike, ArrayLike],
        at: tuple[ArrayLike, ArrayLike],
        tau: ArrayLike,
        *,
        sigma: float,
        smooth: float = 0.0,
    ) -> Floats:
        """A finite run of a row in local time: tau is counted from the beam's visit at x.

        Args:
            energy: J/mm along the run.
            ends: x of both ends of the run, mm.
            at: x along the row and y across it, where the run lies at y = 0, mm.
            tau: s since the beam was at x, > 0.
            sigma: of the beam, mm.
            smooth: variance of smoothing across the rows, mm².
        """
        from scipy.special import erf

        x, y = at
        along = sigma**2 + 2 * self.alpha * np.asarray(tau, dtype=float)
        low, high = ((np.asarray(x) - np.asarray(end)) / np.sqrt(2 * along) for end in ends)
        share = (erf(low) - erf(high)) / 2
        return self.line(energy, y, tau, sigma=sigma, smooth=smooth) * share

    def rectangle(self, areal: float, half: tuple[float, float], tau: ArrayLike) -> Floats:
        """Centre of a rectangle of half sides `half` (mm) heated at once with `areal` J/mm²."""
        from scipy.special import erf

        root = 2 * np.sqrt(self.alpha * np.asarray(tau, dtype=float))
        return (
            areal
            / self.capacity
            * self.depth_factor(tau)
            * erf(half[0] / root)
            * erf(half[1] / root)
        )

    def disc(self, areal: float, radius: float, tau: ArrayLike) -> Floats:
        """Centre of a disc heated at once with `areal` J/mm²."""
        reach = 4 * self.alpha * np.asarray(tau, dtype=float)
        return areal / self.capacity * self.depth_factor(tau) * -np.expm1(-(radius**2) / reach)


_LAGS = np.linspace(0.0, 6.0, 61)
"""Times after the beam's visit at which the peak is sought, in times that it takes to go sigma."""

_NODES = 96
"""Nodes of the quadrature over the ages of the light."""

_WIDE = 8.0
"""Deviations of the passing beam over which light is summed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRow:
    """The hottest that an endless row gets while the beam passes, and the same in local time.

    The peak is reached `lag` s after the beam's visit. `smoothed` are the exact ones for each
    smoothing across the rows, over what local time gives after that lag; `alone` is the same with
    the beam's own width.
    """

    lag: float
    smoothed: tuple[float, ...]
    alone: float


@lru_cache(maxsize=256)
def own_row(solid: Solid, sigma: float, smooths: tuple[float, ...], speed: float) -> OwnRow:
    """The peak under a beam of deviation `sigma` (mm) that passes at `speed` (mm/s).

    `smooths` are variances (mm²) of the smoothing across the rows; the first one decides the lag.
    """
    every = np.array([*smooths, 0.0])
    lags, rises = _rises(solid, sigma, every, speed)
    lag = float(lags[np.argmax(rises[0])])
    across = sigma**2 + 2 * solid.alpha * lag + every
    local = solid.depth_factor(lag) / np.sqrt(2 * math.pi * across)
    *smoothed, alone = (rises.max(axis=1) / local).tolist()
    return OwnRow(lag=lag, smoothed=tuple(smoothed), alone=alone)


def row_peaks(solid: Solid, sigma: float, smooths: Floats, speed: float) -> Floats:
    """Peak of an endless row by smoothing (mm²), per absorbed J/mm and J/mm³/K: 1/mm²."""
    return np.asarray(_rises(solid, sigma, smooths, speed)[1].max(axis=1))


def _rises(solid: Solid, sigma: float, smooths: Floats, speed: float) -> tuple[Floats, Floats]:
    """Lags in s, and the rise in the row's middle after them, smoothings × lags.

    By Gauss's rule in the root of the age, as the depth factor has a root of the age in it.
    """
    lags = _LAGS * sigma / speed
    node, weight = np.polynomial.legendre.leggauss(_NODES)
    gain = 2 * solid.alpha
    beside = _WIDE * math.sqrt(sigma**2 + gain * 4 * _WIDE * sigma / speed) / speed
    low, high = np.sqrt(np.maximum(lags - beside, 0.0)), np.sqrt(lags + beside)
    half = (high - low)[:, None] / 2
    root = (high + low)[:, None] / 2 + half * node
    age = root**2
    along = sigma**2 + gain * age
    passing = np.exp(-((speed * (lags[:, None] - age)) ** 2) / (2 * along)) / np.sqrt(along)
    felt = solid.depth_factor(age) * passing * (2 * root * half * weight)
    across = 1 / np.sqrt(along + smooths[:, None, None])
    return lags, np.asarray(speed / (2 * math.pi) * (felt * across).sum(axis=-1))
