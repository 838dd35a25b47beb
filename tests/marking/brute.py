"""Superposition without any short cut: every run of every row, at many times, for a few points.

Runs that the beam has passed long ago count in local time; under the beam and shortly after it, the
moving Gaussian is summed over its way.
"""

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame

LATELY = 60.0
"""Times that the beam takes to go sigma, after which local time is good to 1e-4."""


def rise(strikes, plastic, point, when, *, angle=0.0, smooth=True):
    """Rise in K at one point (frame of `angle`) at given times."""
    when = np.asarray(when, float)
    total = np.zeros_like(when)
    wider = plastic.smooth if smooth else 0.0
    for strike in strikes:
        cos, sin = RowFrame(strike.angle - angle).cos_sin
        u, v = point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos
        y = strike.y[strike.row]
        near = np.clip(u, strike.start, strike.end)
        way = np.where(strike.forward[strike.row], near - strike.start, strike.end - near)
        struck = strike.entered + way / strike.speed
        passing = plastic.sigma / strike.speed
        for first in range(0, len(y), 4000):
            some = slice(first, first + 4000)
            tau = when[:, None] - struck[None, some]
            kelvin = plastic.solid.run(
                strike.energies[some],
                (strike.start[some], strike.end[some]),
                (u, v - y[some]),
                np.maximum(tau, 1e-9),
                sigma=plastic.sigma,
                smooth=wider,
            )
            total += np.where(tau >= LATELY * passing, kelvin, 0.0).sum(axis=1)
            lately = (tau > -9 * passing) & (tau < LATELY * passing)
            for time, run in np.argwhere(lately).tolist():
                total[time] += moving(strike, first + run, plastic, (u, v), when[time], wider)
    return total


NODE, WEIGHT = np.polynomial.legendre.leggauss(64)


def moving(strike, run, plastic, point, when, wider):
    """Rise in K by the moving beam of one run so far, summed over the places where it was."""
    length = strike.end[run] - strike.start[run]
    done = min(max(when - strike.entered[run], 0.0), length / strike.speed)
    ahead = strike.forward[strike.row[run]]
    since = strike.start[run] if ahead else strike.end[run]
    way = point[0] - since if ahead else since - point[0]
    passed = when - strike.entered[run] - way / strike.speed
    alpha, sigma = plastic.solid.alpha, plastic.sigma
    reach = 9 * np.sqrt(sigma**2 + 2 * alpha * (abs(passed) + 20 * sigma / strike.speed))
    low = max(when - strike.entered[run] - done, passed - reach / strike.speed, 0.0)
    high = min(when - strike.entered[run], passed + reach / strike.speed)
    if high <= low:
        return 0.0
    ends = np.sqrt([low, high])
    root = ends.mean() + np.diff(ends) / 2 * NODE
    age = root**2
    along = sigma**2 + 2 * alpha * age
    across = along + wider
    beside = point[1] - strike.y[strike.row[run]]
    x = strike.speed * (passed - age)
    flat = np.exp(-(x**2) / (2 * along) - beside**2 / (2 * across)) / np.sqrt(along * across)
    felt = plastic.solid.depth_factor(age) * flat * 2 * root
    power = strike.energies[run] * strike.speed / plastic.solid.capacity
    return power / (2 * np.pi) * np.diff(ends)[0] / 2 * float(felt @ WEIGHT)


def visits(strike, u, v, within):
    """Times at which the beam passes u on rows at or after v, up to `within` mm beyond."""
    times = []
    for row in np.flatnonzero((strike.y >= v - 1e-9) & (strike.y <= v + within)):
        runs = np.flatnonzero(strike.row == row)
        a, b = strike.start[runs], strike.end[runs]
        best = np.argmin(np.abs(np.clip(u, a, b) - u))
        x = np.clip(u, a[best], b[best])
        way = x - a[best] if strike.forward[row] else b[best] - x
        times.append(strike.entered[runs[best]] + way / strike.speed)
    return np.array(times)


def peak(strikes, target, plastic, point, *, within=1.0, between=6):
    """The hottest that a point gets: while the beam passes and at times between its visits."""
    passing = plastic.sigma / target.speed
    after = visits(target, *point, within)
    times = np.sort(after)
    fine = np.linspace(0, 1, between, endpoint=False)
    if len(times) > 1:
        times = np.append((times[:-1, None] + np.diff(times)[:, None] * fine).ravel(), times[-1])
    passes = (after[:, None] + passing * np.linspace(0.8, 4.0, 9)).ravel()
    every = np.unique(np.concatenate([times, passes]))
    return rise(strikes, plastic, point, every, angle=target.angle).max()
