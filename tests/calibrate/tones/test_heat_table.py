"""Tables of heat are met at their points and closely in between."""

import numpy as np
import pytest

from preprocess.calibrate.tones.heat_table import TABLE_DEPTHS, TABLE_SPREADS, table_weights


def test_a_point_of_the_grid_is_met_exactly():
    weights = table_weights(float(np.log(TABLE_SPREADS[3])), float(np.log(TABLE_DEPTHS[2])))
    there = np.zeros((len(TABLE_SPREADS), len(TABLE_DEPTHS)))
    there[3, 2] = 1.0
    assert weights == pytest.approx(there, abs=1e-12)


def test_a_smooth_function_is_met_in_between():
    # like heat: it falls with both lengths, and levels off where they are short
    def heat(spread, depth):
        return -0.5 * np.log(0.04 + spread**2 / 12) - np.log(0.03 + depth)

    table = heat(TABLE_SPREADS[:, None], TABLE_DEPTHS)
    for spread, depth in ((0.22, 0.031), (0.9, 0.17)):
        weights = table_weights(float(np.log(spread)), float(np.log(depth)))
        assert float((table * weights).sum()) == pytest.approx(heat(spread, depth), abs=2e-3)


def test_beyond_the_grid_its_end_counts():
    far = table_weights(9.0, float(np.log(TABLE_DEPTHS[0])))
    assert far == pytest.approx(
        table_weights(float(np.log(TABLE_SPREADS[-1])), float(np.log(TABLE_DEPTHS[0])))
    )
