"""Light of rows at single places within wide columns, against sums of error functions."""

import numpy as np
import pytest
from scipy.special import ndtr
from shapely import box

from preprocess.marking.solver.row_images import column_grid
from preprocess.marking.solver.row_sources import row_sources
from tests.marking.drawn import area_of, artwork, shape
from tests.marking.struck import settings, struck

STALKS = [(0.3, 0.75), (1.4, 1.55), (3.05, 5.2), (5.35, 5.41)]


def test_light_at_places_within_wide_columns_is_a_sum_of_error_functions():
    """Columns of 0.97 mm, over stalks of which all but one are narrower."""
    comb = area_of(*[box(left, 0, right, 0.5) for left, right in STALKS])
    (exposure,) = struck(artwork(shape(comb), settings=settings()))
    columns = column_grid(-1.0, 7.0, 0.97)
    places = np.array([0.52, 1.1, 1.47, 1.9, 2.6, 3.1, 3.9, 4.4, 5.1, 5.38, 6.2])
    found = row_sources(exposure, columns, 4e-4, 20.0, places)
    at = np.append(columns.centres, places)
    for number, deviation in enumerate(np.sqrt(found.variances)):
        wanted = sum(
            ndtr((right - at) / deviation) - ndtr((left - at) / deviation)
            for left, right in STALKS
        )  # fmt: skip
        assert found.light[0, number] == pytest.approx(wanted, abs=3e-3)
