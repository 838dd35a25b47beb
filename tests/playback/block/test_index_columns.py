"""Cells of the index: pooled by their largest where there are too many."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.heat.index_images import IndexImage
from preprocess.playback.block.beam_sets import RowSet
from preprocess.playback.block.index_columns import index_columns
from preprocess.playback.block.pieces import Pieces

ROWS, COLUMNS, PITCH, WIDTH = 40, 60, 0.2, 0.1


def image_and_rows() -> tuple[IndexImage, RowSet]:
    """Rows at v = 3.0, 3.2 … mm, columns from u = 5.0 mm on; the index counts the cells."""
    v, u = 3.0 + PITCH * np.arange(ROWS), 5.0 + WIDTH * (np.arange(COLUMNS) + 0.5)
    lit = np.ones((ROWS, COLUMNS), bool)
    lit[:, ::7] = False
    index = np.where(lit, np.arange(ROWS * COLUMNS).reshape(ROWS, COLUMNS) / 1000, np.nan)
    image = IndexImage(
        step=4,
        output="leaf",
        part=0,
        angle=0.0,
        v=v,
        u=u,
        lit=lit,
        index=index,
        spike=index,
        residual=index,
        cell=PITCH * WIDTH,
        share=np.ones(lit.shape, np.float32),
    )
    nothing = np.empty(0)
    no_pieces = Pieces(
        row=np.empty(0, np.int64),
        start=nothing,
        end=nothing,
        entered=nothing,
        part=np.empty(0, np.int64),
        light=nothing,
    )
    rows = RowSet(
        step=4,
        round=0,
        after=0.0,
        lasts=1.0,
        angle=0.0,
        pitch=PITCH,
        energy=1.0,
        v=v,
        at=np.arange(ROWS) / ROWS,
        forward=np.ones(ROWS, bool),
        pieces=no_pieces,
    )
    return image, rows


def test_few_cells_are_kept_one_by_one() -> None:
    image, rows = image_and_rows()
    facts, columns = index_columns([image], [rows], 10_000)
    assert facts["pooled"] == 1
    assert facts["unit"] == 1 / 80
    wanted = np.rint(image.index[image.lit] * 80)
    np.testing.assert_array_equal(columns["cell_index"].values, wanted)
    assert (columns["image_first"].values + facts["first"]).tolist() == [round(2 * 5.05 / 0.1)]


def test_of_too_many_cells_the_largest_of_neighbours_counts() -> None:
    """2040 lit cells into 300: three by three, each as hot as its hottest, by loops over all."""
    image, rows = image_and_rows()
    facts, columns = index_columns([image], [rows], 300)
    by = facts["pooled"]
    assert by == 3
    wanted = []
    for row in range(0, ROWS, by):
        for column in range(0, COLUMNS, by):
            block = image.index[row : row + by, column : column + by]
            if np.isfinite(block).any():
                wanted.append(round(float(np.nanmax(block)) * 80))
    assert columns["cell_index"].values.tolist() == wanted
    assert columns["image_rows"].values.tolist() == [14]
    assert columns["image_columns"].values.tolist() == [20]
    first = (columns["image_first"].values[0] + facts["first"]) * facts["widths"][0] / 2
    assert first == pytest.approx(5.15)  # the middle of the first three columns
