"""The guess of what levels do, on rows whose index is written down."""

import numpy as np
import pytest

from preprocess.advice.levels import levelled_index
from preprocess.marking.heat.index_images import IndexImage

ROWS = 60


def patch(index, output="leaf", columns=4):
    lit = np.ones((len(index), columns), bool)
    lit[::2, 0] = False
    image = np.where(lit, np.asarray(index, float)[:, None], np.nan)
    return IndexImage(
        step=0, output=output, part=None, angle=0.0, v=0.1 * np.arange(len(index)),
        u=0.1 * np.arange(columns), lit=lit, index=image, spike=image, residual=image, cell=0.01,
        share=np.ones(lit.shape, np.float32),
    )  # fmt: skip


def spread(index):
    return index.max() / index.min()


@pytest.mark.parametrize("levels", [2, 3, 4])
def test_each_level_spans_an_equal_step_of_the_logarithm(levels):
    rows = np.concatenate([np.full(25, 1.0), np.geomspace(1.0, 2.0, ROWS), np.full(8, 2.0)])
    made = patch(rows)
    index, weight = levelled_index([made], {"leaf": "leaf"}, levels)
    raw = made.index[made.lit]
    assert weight == pytest.approx(np.full(len(raw), 0.01))
    factor = np.round(index / raw, 9)
    assert len(np.unique(factor)) == levels
    for one in np.unique(factor):
        assert spread(raw[factor == one]) < 2 ** (1 / levels) + 1e-9
        assert np.median(index[factor == one]) == pytest.approx(1.0, abs=0.01)


def test_cold_first_rows_join_the_rows_beside_them():
    rows = np.concatenate([np.full(25, 0.3), np.geomspace(1.0, 2.0, ROWS), np.full(8, 2.0)])
    index, _ = levelled_index([patch(rows)], {"leaf": "leaf"}, 2)
    # two rows have seven lit places; places of row 0 and of row 26 share one factor
    assert index[0] / 0.3 == pytest.approx(index[7 * 13] / rows[26])


def test_one_level_for_each_layer_brings_both_to_one():
    two = [patch([0.5] * ROWS, "stem"), patch([2.0] * ROWS, "leaf")]
    index, _ = levelled_index(two, {"stem": "stem", "leaf": "leaf"}, 1)
    assert index == pytest.approx(np.ones(len(index)))


def test_rows_that_are_alike_stay_in_one_level():
    index, _ = levelled_index([patch(np.linspace(1.0, 1.02, ROWS))], {"leaf": "leaf"}, 3)
    assert spread(index) == pytest.approx(1.02)
