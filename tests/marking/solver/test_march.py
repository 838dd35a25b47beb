"""The depth factor from a table, against the closed form."""

import numpy as np
import pytest

from preprocess.marking.solver.march import DepthFactor
from tests.marking.struck import SHARP


def test_the_table_of_the_depth_factor_is_close():
    ages = np.geomspace(1e-6, 1e4, 997)
    assert DepthFactor(SHARP.solid)(ages) == pytest.approx(SHARP.solid.depth_factor(ages), rel=3e-4)
    assert DepthFactor(SHARP.solid)(np.zeros(1)) == pytest.approx(1 / 0.05, rel=1e-3)
