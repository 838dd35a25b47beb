"""Images of a layer: the cells of every k-th row in each, placed so that its rows stay rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.rows.rounds import round_order
from preprocess.model.artwork.grey import WHITE, GreyImage

if TYPE_CHECKING:
    from preprocess.arrays import Greys
    from preprocess.passes.grey.cell_grid import CellGrid


def images_of(greys: Greys, grid: CellGrid, count: int, *, on_page_rows: bool) -> list[GreyImage]:
    """Images in marking order; those without any mark are left out.

    A cell of an image is as high as its rows lie apart, with the row in its middle, so that there
    is no white between the rows of one image. Where the rows lie on a grid of the page, software
    would put the rows of all images on the same lines; there each image has white rows in between.
    """
    found = []
    for number in round_order(count) if count > 1 else (0,):
        mine = greys[number::count]
        if not (mine != WHITE).any():
            continue
        if on_page_rows:
            spread = np.full_like(greys, WHITE)
            spread[number::count] = mine
            found.append(_image(spread, grid, 0, 1))
        else:
            found.append(_image(mine, grid, number, count))
    return found


def _image(greys: Greys, grid: CellGrid, first: int, every: int) -> GreyImage:
    """The image of every so many rows, the first of them in the middle of its first cells."""
    apart = every * grid.pitch
    frame = RowFrame(grid.angle)
    e, f = frame.to_xy(grid.left, grid.first + first * grid.pitch - apart / 2)
    a, b = frame.to_xy(grid.cell, 0.0)
    c, d = frame.to_xy(0.0, apart)
    return GreyImage(
        columns=grid.columns,
        rows=len(greys),
        greys=np.ascontiguousarray(greys).tobytes(),
        matrix=(a, b, c, d, e, f),
        height=grid.pitch,
    )
