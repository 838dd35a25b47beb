"""Superposition without any short cut: every run of every row, at many times, for a few points."""

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame


def rise(strikes, plastic, point, when, *, angle=0.0, smooth=True):
    """Rise in K at one point (frame of `angle`) at given times, by the kernel of a finite run."""
    when = np.asarray(when, float)
    total = np.zeros_like(when)
    for strike in strikes:
        cos, sin = RowFrame(strike.angle - angle).cos_sin
        u, v = point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos
        y = strike.y[strike.row]
        near = np.clip(u, strike.start, strike.end)
        way = np.where(strike.forward[strike.row], near - strike.start, strike.end - near)
        struck = strike.entered + way / strike.speed
        for first in range(0, len(y), 4000):
            some = slice(first, first + 4000)
            tau = when[:, None] - struck[None, some]
            kelvin = plastic.solid.run(
                strike.energy,
                (strike.start[some], strike.end[some]),
                (u, v - y[some]),
                np.maximum(tau, 1e-9),
                sigma=plastic.sigma,
                smooth=plastic.smooth if smooth else 0.0,
            )
            total += np.where(tau >= 0, kelvin, 0.0).sum(axis=1)
    return total


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
    """The hottest that a point gets: just after each visit and at times between the visits."""
    times = visits(target, *point, within)
    fine = np.linspace(0, 1, between, endpoint=False)
    if len(times) > 1:
        times = np.append((times[:-1, None] + np.diff(times)[:, None] * fine).ravel(), times[-1])
    return rise(strikes, plastic, point, times + 1e-9, angle=target.angle).max()
