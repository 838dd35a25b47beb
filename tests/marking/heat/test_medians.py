"""Medians by layer and by row, against counts by hand on small index images."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.heat.index import HeatIndex
from preprocess.marking.heat.index_images import IndexImage, first_least_cell
from preprocess.marking.heat.medians import layer_medians, lit_row_medians
from preprocess.model.bench.filament import Window


def image(index, output="bed", part=None):
    """One cell in `index` is 0.1 mm × 0.2 mm; nan is not lit."""
    index = np.array(index, float)
    lit = np.isfinite(index)
    rows, columns = index.shape
    return IndexImage(
        step=0,
        output=output,
        part=part,
        angle=0.0,
        v=0.2 * np.arange(rows),
        u=0.1 * np.arange(columns),
        lit=lit,
        index=index,
        spike=index,
        residual=index,
        cell=0.02,
        share=np.ones(lit.shape, np.float32),
    )


def heat(*images):
    return HeatIndex(images=images, window=Window(), calibrated=True, assumed=())


def test_medians_are_by_output_layer():
    found = layer_medians(heat(image([[1, 2, 3]]), image([[5, 5, 8]], "edge")))
    assert found == {"bed": 2.0, "edge": 5.0}


def test_a_row_has_the_median_of_its_lit_cells_and_dark_rows_have_none():
    v, median = lit_row_medians(image([[1, 2, 9], [np.nan] * 3, [4, np.nan, 6]]))
    assert v == pytest.approx([0.0, 0.4])
    assert median.tolist() == [2.0, 5.0]


def test_of_equal_cells_the_first_is_the_least():
    key = np.array([[3.0, 1.0], [1.0, 0.0]])
    assert first_least_cell(key, np.array([[True, True], [True, False]])) == (0, 1)
