"""The grid of maps: heat on it is that of all rows that a value covers, as a photo shows it."""

import numpy as np
from shapely import box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Direction, Settings
from preprocess.model.bench.bench import Bench
from preprocess.photo.map_grid import MapGrid, index_map
from tests.correction.levels import in_levels


def test_rows_of_two_ways_are_averaged():
    settings = Settings(power=0.4, speed=400.0, pitch=0.1, angle=0.0, direction=Direction.TWO_WAY)
    label = in_levels("label", (box(0, 0, 12, 5),), settings, (1.0,), Page(width=12, height=5))
    # values on middles of columns, as far from the left end as from the right
    grid = MapGrid(origin=(0.45, 1.6), step=0.3, shape=(9, 38))
    index, warm = index_map(label, Bench(), grid)
    assert warm.all()
    # each row is hotter at the end where the beam came from, and the next row at the other end:
    # together they are as hot on the left as on the right
    log = np.log(index)
    assert np.abs(log - log[:, ::-1]).max() < 0.005
    assert log[4, 0] > log[4, 19] + 0.05
