"""The second simulator's verdict on fields worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.heat import Cells, cells_of
from tests.second_simulator.judge import verdict
from tests.second_simulator.test_beam import BLACK, box


def field(change):
    """A strip of 10 × 4 mm: 40 rows of 50 cells of 0.02 mm², whose peaks `change` sets."""
    light = light_of([box(0, 0, 10, 4)], {BLACK: Setting(1.0, 300.0)}, Laser())
    x, stretch, length = cells_of(light)
    peak = np.ones((40, 50))
    change(peak)
    return light, Cells(x, stretch, length, peak.reshape(-1, 1))


def test_worst_places_and_what_lies_beyond():
    def change(peak):
        peak[10:15, 20:23] = 1.5
        peak[30:35, 30:35] = 0.8

    found = verdict(*field(change))
    assert found.hot == pytest.approx((15 * 1.5 + 10) / 25)
    assert found.cold == pytest.approx(0.8)
    assert found.beyond == pytest.approx(40 / 2000)


def test_a_step_is_a_seam():
    def change(peak):
        peak[20:] = 1.08

    assert verdict(*field(change)).seam == pytest.approx(0.08)
