"""The second simulator's heat against closed forms, and against an integral without short cuts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import erfcx

from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.heat import Plastic, best_lag, peaks, peaks_at
from tests.second_simulator.test_beam import BLACK, box

PLA = Plastic()


def test_a_fast_row_gives_its_energy_at_once():
    # light absorbed in depth: q / (sqrt(2π) (σ² + s²/12)^½ ρc δ), the limit of an endless speed
    fast = light_of([box(0, 0, 20, 0.1)], {BLACK: Setting(1.0, 1e6)}, Laser())
    found = peaks_at(fast, PLA, (0.3,), np.array([10.0]), np.array([0]))[0, 0]
    across = math.sqrt(2 * math.pi * (PLA.sigma**2 + 0.3**2 / 12))
    assert found == pytest.approx(1e-6 / (across * PLA.capacity * PLA.depth), rel=0.005)


def test_a_row_of_long_ago_gives_a_line_source():
    # q / (2π k τ), whatever the beam and the depth were; a second row comes 20 s later
    late = Laser(turnaround=20.0)
    light = light_of([box(0, 0, 400, 0.2)], {BLACK: Setting(1.0, 2000.0, two_way=True)}, late)
    both = peaks_at(light, PLA, (0.15,), np.array([200.0, 200.0]), np.array([0, 1]))[:, 0]
    age = 20.0 + 200 / 2000
    depth = erfcx(math.sqrt(PLA.alpha * age) / PLA.depth) / PLA.depth
    across = PLA.sigma**2 + 2 * PLA.alpha * age + 0.15**2 / 12
    line = 1 / 2000 / PLA.capacity * depth / math.sqrt(2 * math.pi * across)
    line *= math.exp(-(0.1**2) / (2 * across))
    assert both[1] - both[0] == pytest.approx(line, rel=0.02)
    assert line == pytest.approx(1 / 2000 / (2 * math.pi * PLA.conductivity * age), rel=0.06)


def whole_integral(light, spread, x, y, now):
    """Rise at a place and time: every stretch integrated over the whole way of the beam."""
    node, weight = np.polynomial.legendre.leggauss(12)
    total = 0.0
    for a, b, v, t0, forward, speed, energy in zip(
        light.a, light.b, light.y, light.t0, light.forward, light.speed, light.energy, strict=True
    ):
        until = min(now, t0 + (b - a) / speed)
        if until <= t0:
            continue
        edges = np.linspace(t0, until, max(2, math.ceil((until - t0) * speed / 0.02) + 1))
        half, middle = np.diff(edges)[:, None] / 2, (edges[1:] + edges[:-1])[:, None] / 2
        when = middle + half * node
        at = a + (when - t0) * speed if forward else b - (when - t0) * speed
        age = np.maximum(now - when, 1e-12)
        along = PLA.sigma**2 + 2 * PLA.alpha * age
        across = along + spread**2 / 12
        rise = PLA.sinks(age) * np.exp(-((at - x) ** 2) / (2 * along) - (v - y) ** 2 / (2 * across))
        total += energy * speed * (half * weight * rise / np.sqrt(along * across)).sum()
    return total / (2 * math.pi * PLA.capacity)


@pytest.mark.parametrize("two_way", [False, True])
@pytest.mark.parametrize("spread", [0.15, 0.6])
def test_peaks_agree_with_the_whole_integral(two_way, spread):
    how = {BLACK: Setting(1.0, 300.0, two_way=two_way)}
    light = light_of([box(0, 0, 1.5, 1)], how, Laser())
    places = np.array([0.04, 0.7, 1.3, 0.75]), np.array([3, 3, 4, 9])
    found = peaks_at(light, PLA, (spread,), *places)[:, 0]
    for peak, x, row in zip(found, *places, strict=True):
        near = np.abs(light.y - light.y[row]) < 0.6
        passes = light.t0 + np.where(light.forward, x, 1.5 - x) / 300.0
        times = (passes[near][:, None] + np.linspace(0, 8, 33) * PLA.sigma / 300.0).ravel()
        wanted = max(whole_integral(light, spread, x, light.y[row], now) for now in times)
        assert peak == pytest.approx(wanted, rel=0.004)


def test_the_beam_is_hottest_just_behind_itself():
    assert 1.0 < best_lag(PLA, 400.0, 0.0075) * 400.0 / PLA.sigma < 4.0


def test_cells_cover_the_light():
    light = light_of([box(0, 0, 1.3, 0.3)], {BLACK: Setting(1.0, 300.0)}, Laser())
    cells = peaks(light, PLA, (0.3,))
    assert cells.length.max() <= 0.2
    assert cells.length.sum() == pytest.approx(3 * 1.3)
