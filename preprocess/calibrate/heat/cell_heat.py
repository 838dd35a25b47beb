"""Response surface of the heat of each cell, over spread and optical depth of the filament.

A few points of each cell are summed over all runs, exactly in local time, but for the row under the
beam, which counts by the moving source. Terms without spread and
depth are computed once, so that a whole grid costs little more than one point of it. Between the
points of the grid, log heat is a polynomial in log spread and log depth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.special import erf

from preprocess.calibrate.heat.sample_points import sample_points
from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.heat.superposition import visit_times
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.kernels import row_peaks
from preprocess.marking.solver.thermal_medium import thermal_medium_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats
    from preprocess.calibrate.heat.sample_points import SamplePoint
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.kernels import Solid
    from preprocess.marking.solver.thermal_medium import ThermalMedium
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


SPREADS = np.geomspace(0.1, 2.4, 7)
DEPTHS = np.geomspace(0.01, 0.4, 6)
"""The grid, mm: wider than the range of filaments."""

USUAL_SPREAD, USUAL_DEPTH = 0.3, 0.05
ALONG_SPREAD, ALONG_DEPTH = 4, 3
"""Degrees of the polynomial: within the grid its error is 1 % as a rule, 5 % at most."""

_REACH = 20.0
"""Variances beyond which a row is neglected."""

_HOTTEST = 2.2
"""Times that the beam takes to go sigma, after which its row is hottest."""


@dataclass(frozen=True, slots=True)
class HeatResponse:
    """Heat of cells at the powers of the coupon, as the logarithm of K; cells × terms.

    `index` holds coefficients of the smoothed peak, `spike` those of the direct heat under the
    beam. Cells without rows or without light have rows of nan.
    """

    index: Floats
    spike: Floats


def polynomial_terms(spread: Floats, depth: Floats) -> Floats:
    """Terms of the polynomial at logarithms of spread and depth (mm), on a new last axis."""
    low, high = np.log(SPREADS[[0, -1]] / USUAL_SPREAD), np.log(DEPTHS[[0, -1]] / USUAL_DEPTH)
    x = np.clip(np.asarray(spread) - np.log(USUAL_SPREAD), *low)
    y = np.clip(np.asarray(depth) - np.log(USUAL_DEPTH), *high)
    return np.stack(
        [x**i * y**j for i in range(ALONG_SPREAD + 1) for j in range(ALONG_DEPTH + 1)], axis=-1
    )


def cell_heat(
    artwork: Artwork, bench: Bench, cells: Sequence[tuple[str, MultiPolygon]]
) -> HeatResponse:
    """Heat of the cells of a coupon.

    Args:
        artwork: the whole coupon, since earlier marks warm a cell too.
        bench: machine, filament and part.
        cells: output layer and outline of each.
    """
    struck, outputs, plastic = _struck(artwork, bench)
    grid = _grid()
    found = np.full((2, len(cells), grid.shape[1]), np.nan)
    for number, (layer, outline) in enumerate(cells):
        mine = [n for n, output in enumerate(outputs) if output == layer]
        heats = [point_heat(struck, plastic, p) for p in sample_points(struck, mine, outline)]
        if heats and min(spike.min() for _, spike in heats) > 0:
            peak, spike = (np.log(np.median(values, axis=0)) for values in zip(*heats, strict=True))
            found[0, number] = peak.ravel() @ grid
            found[1, number] = np.broadcast_to(spike, peak.shape).ravel() @ grid
    return HeatResponse(*found)


def place_heat(
    artwork: Artwork,
    bench: Bench,
    cell: tuple[str, MultiPolygon],
    shares: Sequence[float],
    grid: tuple[Floats, Floats],
) -> Floats:
    """Log index at places of a cell, the last time it is marked, K: places × spreads × depths.

    Args:
        artwork: the whole coupon.
        bench: machine, filament and part.
        cell: output layer and outline; its rows are marked from its upper end on.
        shares: where the places are, as shares of the rows.
        grid: spreads and depths, mm.
    """
    struck, outputs, plastic = _struck(artwork, bench)
    layer, outline = cell
    mine = [n for n, output in enumerate(outputs) if output == layer]
    crossing = (list(sample_points(struck, [n], outline, shares)) for n in reversed(mine))
    points = next(filter(None, crossing), [])
    found = [point_heat(struck, plastic, point, *grid)[0] for point in points]
    if not found:
        return np.full((len(shares), *(len(axis) for axis in grid)), np.nan)
    peaks = np.array(found).reshape(len(shares), -1, *found[0].shape)
    return np.asarray(np.log(np.median(peaks, axis=1)))


def _struck(
    artwork: Artwork, bench: Bench
) -> tuple[tuple[Exposure, ...], list[str], ThermalMedium]:
    """All exposures of a coupon in time order, the output layer of each, and the plastic."""
    plan = plan_of(artwork, bench.machine_or_default)
    thickness = bench.parts[0].thickness if bench.parts else None
    plastic = thermal_medium_of(bench.filament, bench.machine_or_default, thickness=thickness)
    body = artwork.parts[0] if artwork.parts else None
    struck = exposures_of(plan, schedule_of(plan, bench.machine_or_default), plastic.watts, body)
    return struck, [plan.steps[strike.step].output.id for strike in struck], plastic


def point_heat(
    struck: Sequence[Exposure],
    plastic: ThermalMedium,
    point: SamplePoint,
    spreads: Floats = SPREADS,
    depths: Floats = DEPTHS,
) -> tuple[Floats, Floats]:
    """Smoothed peak by spread and depth, and spike by depth, at one point, K."""
    runs = [_Runs.of(strike, point) for strike in struck[: point.strike + 1]]
    every = _Runs(*(np.concatenate(c) for c in zip(*runs, strict=True)))
    peak, spike = np.zeros((len(spreads), len(depths))), np.zeros(len(depths))
    speed, sigma = struck[point.strike].speed, plastic.sigma
    lag = _HOTTEST * sigma / speed
    passing = _passing(plastic.solid, sigma, speed, tuple(spreads.tolist()), tuple(depths.tolist()))
    for number, time in enumerate(point.times):
        known = every.felt(time, plastic, float(spreads[-1]))
        under = time - known.at < sigma / speed
        age = np.where(under, 0.0, time - known.at)
        light = known.light(age, plastic, depths)
        spread = sigma**2 + 2 * plastic.solid.alpha * np.where(under, lag, age)
        every_spread = np.concatenate([spreads**2 / 12, [0.0]])[:, None]
        felt = _across(known.dy, spread + every_spread)
        found = felt @ light.T + (felt[:, under] @ light[:, under].T) * (passing - 1)
        peak = np.maximum(peak, found[:-1])
        if number == 0:
            spike = found[-1]
    return peak, spike


@lru_cache(maxsize=64)
def _passing(
    solid: Solid, sigma: float, speed: float, spreads: tuple[float, ...], depths: tuple[float, ...]
) -> Floats:
    """Heat of a row under the moving beam over that at once: spreads and none × depths."""
    smooths = np.append(np.array(spreads) ** 2 / 12, 0.0)
    across = sigma**2 + 2 * solid.alpha * _HOTTEST * sigma / speed + smooths
    peaks = [
        row_peaks(replace(solid, depth=depth), sigma, smooths, speed) * depth for depth in depths
    ]
    return np.stack(peaks, axis=1) * np.sqrt(2 * np.pi * across)[:, None]


class _Runs(NamedTuple):
    """Runs as seen from one point: time, distance across, ends along the row, energy."""

    at: Floats
    dy: Floats
    low: Floats
    high: Floats
    energy: Floats

    @classmethod
    def of(cls, strike: Exposure, point: SamplePoint) -> _Runs:
        u, v = change_angle(point.u, point.v, point.angle, strike.angle)
        at = visit_times(strike, u)
        ends = u - strike.start, u - strike.end
        return cls(at, v - strike.y[strike.row], *ends, strike.energies)

    def felt(self, time: float, plastic: ThermalMedium, widest: float) -> _Runs:
        """Runs that were marked by then, near enough to count."""
        age = time - self.at
        reach = plastic.sigma**2 + widest**2 / 12 + 2 * plastic.solid.alpha * np.maximum(age, 0)
        near = (age >= 0) & (self.dy**2 < _REACH * reach)
        return _Runs(*(column[near] for column in self))

    def light(self, age: Floats, plastic: ThermalMedium, depths: Floats) -> Floats:
        """K mm of each run by depth at ages in s, without the spread across the rows."""
        solid = plastic.solid
        wide = np.sqrt(2 * (plastic.sigma**2 + 2 * solid.alpha * age))
        base = self.energy / solid.capacity * (erf(self.low / wide) - erf(self.high / wide)) / 2
        deep = (replace(solid, depth=float(depth)) for depth in depths)
        return np.stack([one.depth_factor(age) * base for one in deep])


def _across(dy: Floats, spread: Floats) -> Floats:
    return np.asarray(np.exp(-(dy**2) / (2 * spread)) / np.sqrt(2 * np.pi * spread))


def _grid() -> Floats:
    """Pseudo-inverse of the terms on the grid, terms × points."""
    spread, depth = np.meshgrid(np.log(SPREADS), np.log(DEPTHS), indexing="ij")
    return np.asarray(
        np.linalg.pinv(polynomial_terms(spread.ravel(), depth.ravel())).T, dtype=np.float64
    )
