"""The moving beam itself: a Gaussian that goes along a run, summed over its way; no local time.

Shares nothing with the product: rises are integrals by scipy over the time at which light fell.
"""

from functools import lru_cache
from itertools import pairwise

import numpy as np
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import erf, erfcx

ALPHA = 1.5e-4 / 2.232e-3
"""mm²/s, of PLA."""


def run_rise(time, ends, speed, *, depth, sigma, smooth=0.0, aside=0.0, light=None):
    """Rise at x = 0, `aside` mm from the row, per J/mm and J/mm³/K, 1/mm².

    The beam enters at x = ends[0] and leaves at ends[1]; it is (or would be) at x = 0 at time 0.
    `light` is its share at each distance from where it enters.
    """
    first, last = (end / speed for end in ends)
    if time <= first:
        return 0.0

    def felt(root):
        age = root**2
        along = sigma**2 + 2 * ALPHA * age
        across = along + smooth
        deep = erfcx(root * np.sqrt(ALPHA) / depth) / depth
        x = speed * (time - age)
        flat = np.exp(-(x**2) / (2 * along) - aside**2 / (2 * across))
        on = 1.0 if light is None else light(speed * (time - age) - ends[0])
        return on * 2 * root * speed * deep * flat / (2 * np.pi * np.sqrt(along * across))

    youngest, oldest = max(time - last, 0.0), time - first
    near = np.sqrt(sigma**2 + 2 * ALPHA * abs(time)) / speed
    marks = [time + n * near for n in (-9, -5, -2, 0, 2, 5, 9)]
    inside = sorted({m for m in marks if youngest < m < oldest} | {youngest, oldest})
    return sum(
        quad(felt, np.sqrt(a), np.sqrt(b), epsabs=1e-9, epsrel=1e-8, limit=100)[0]
        for a, b in pairwise(inside)
    )


@lru_cache(maxsize=1000)
def run_peak(ends, speed, *, depth, sigma, smooth=0.0, light=None):
    """The hottest that x = 0 gets of one run."""
    how = {"depth": depth, "sigma": sigma, "smooth": smooth, "light": light}
    found = minimize_scalar(
        lambda beam: -run_rise(beam * sigma / speed, ends, speed, **how),
        bounds=(-4.0, 8.0),
        method="bounded",
        options={"xatol": 1e-3},
    )
    return -found.fun


LATELY = 60.0
"""Times that the beam takes to go sigma, after which its way counts as exposed at once, to 1e-4."""

CAPACITY = 2.232e-3
"""J/mm³/K, of PLA."""


def rows_rise(rows, point, time, *, speed, depth, sigma, smooth=0.0):
    """Rise in K at a point of rows (entered in s, x where it begins, x where it ends, y, J/mm)."""
    total, way = 0.0, {"depth": depth, "sigma": sigma, "smooth": smooth}
    for entered, begin, end, y, energy in rows:
        ahead = 1 if end > begin else -1
        ends = ahead * (begin - point[0]), ahead * (end - point[0])
        passed = time - entered + ends[0] / speed
        aside = point[1] - y
        if abs(aside) > 6 * np.sqrt(sigma**2 + smooth + 2 * ALPHA * max(time - entered, 0.0)):
            continue
        if passed < LATELY * sigma / speed:
            total += energy / CAPACITY * run_rise(passed, ends, speed, aside=aside, **way)
            continue
        along = sigma**2 + 2 * ALPHA * passed
        across = along + smooth
        deep = erfcx(np.sqrt(ALPHA * passed) / depth) / depth
        share = (erf(ends[1] / np.sqrt(2 * along)) - erf(ends[0] / np.sqrt(2 * along))) / 2
        line = np.exp(-(aside**2) / (2 * across)) / np.sqrt(2 * np.pi * across)
        total += energy / CAPACITY * deep * line * share
    return total


def rows_peak(rows, number, u, *, speed, sigma, later=8, **how):
    """The hottest that x = u on one row gets while the beam passes it and the next few rows."""
    point, found = (u, rows[number][3]), []
    for entered, begin, _, _, _ in rows[number : number + later]:
        visit = entered + abs(u - begin) / speed
        for lag in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0):
            time = visit + lag * sigma / speed
            found.append(rows_rise(rows, point, time, speed=speed, sigma=sigma, **how))
    return max(found)


def raster(spans, *, speed, energy, two_way, pitch=0.1, turn=1.2e-3, fly=2500.0):
    """Rows of given spans (left, right), one after another from above."""
    rows, clock = [], 0.0
    for number, (left, right) in enumerate(spans):
        ends = (left, right) if not two_way or number % 2 == 0 else (right, left)
        rows.append((clock, *ends, pitch * number, energy))
        clock += (right - left) / speed + turn + (0.0 if two_way else (right - left) / fly)
    return rows
