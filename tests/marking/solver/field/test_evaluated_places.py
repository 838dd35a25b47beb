"""Runs too short for a column have the same peak wherever they lie beside the columns."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from tests.marking.struck import solved

PHASES = np.arange(0.0, 0.1, 0.0125)


@pytest.mark.parametrize("long", [0.05, 0.09, 0.14])
def test_a_short_run_is_as_hot_wherever_it_lies(long):
    peaks = []
    for phase in PHASES.tolist():
        field = solved(box(1 + phase, 0, 1 + phase + long, 0.6), speed=300.0, two_way=False)
        assert (field.lit.sum(axis=1) == 1).all()
        peaks.append(field.peak[field.lit])
    whole = np.array(peaks)
    assert whole / whole[0] == pytest.approx(np.ones_like(whole), rel=0.04)


def test_a_short_run_between_long_ones_takes_their_heat():
    """A stub of 0.05 mm beside rows that end 0.3 mm away, moved with them."""
    peaks = []
    for phase in PHASES.tolist():
        beds = [box(1 + phase, 0, 3 + phase, 0.6), box(3.3 + phase, 0, 3.35 + phase, 0.6)]
        field = solved(beds[0].union(beds[1]), speed=300.0, two_way=False)
        last = field.columns.centres > 3.25 + phase
        peaks.append(np.where(field.lit & last, field.peak, 0.0).max(axis=1))
    whole = np.array(peaks)
    assert whole / whole[0] == pytest.approx(np.ones_like(whole), rel=0.04)
