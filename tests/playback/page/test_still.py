"""The picture that needs no script: colours of cells, by hand."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.marking.heat.index_images import IndexImage
from preprocess.playback.page.glow import glow_ramp
from preprocess.playback.page.still import STAGE, glow_cells, still_picture
from tests.passes.benches import artwork, shape

TOP = 2.0


def image(index, *, u=(0.5, 1.5), v=(0.5, 1.5)) -> IndexImage:
    index = np.array(index, dtype=float)
    lit = ~np.isnan(index)
    return IndexImage(
        step=0, output="leaf", part=0, angle=0.0, v=np.array(v), u=np.array(u), lit=lit,
        index=index, spike=index, residual=index, cell=1.0, share=lit.astype(np.float32),
    )  # fmt: skip


def test_cells_have_the_colour_of_their_index() -> None:
    cells, size = glow_cells([image([[2.0, 1.0], [np.nan, 9.0]])], (0.0, 0.0, 2.0, 2.0), TOP)
    assert size == pytest.approx(1.001)
    assert cells.tolist() == [[255, 128], [0, 255]]


def test_what_lies_outside_the_window_is_left_out_and_the_hottest_counts() -> None:
    images = [image([[1.0, 1.0], [1.0, 1.0]]), image([[0.5, 2.0]], v=(0.5,))]
    cells, _ = glow_cells(images, (1.0, 0.0, 3.0, 1.0), TOP)
    assert cells.tolist() == [[255, 0]]


def test_the_picture_shows_them_on_the_dark_stage() -> None:
    pil = pytest.importorskip("PIL.Image")
    leaf = artwork([shape("leaf", box(0, 0, 2, 2))], [box(-1, -1, 3, 3)])
    svg = still_picture(
        leaf, [image([[2.0, 1.0], [np.nan, 0.5]])], (0.0, 0.0, 2.0, 2.0), TOP, "a & b"
    )
    assert 'aria-label="a &amp; b"' in svg
    assert f'fill="{STAGE}"' in svg
    (data,) = re.findall(r"data:image/png;base64,([^\"]+)", svg)
    shown = pil.open(io.BytesIO(base64.b64decode(data)))
    pixels = np.asarray(shown.convert("RGBA"))
    assert pixels[1, 0, 3] == 0
    for (row, column), step in {(0, 0): 255, (0, 1): 128, (1, 1): 64}.items():
        red, green, blue, alpha = pixels[row, column].tolist()
        assert (f"#{red:02x}{green:02x}{blue:02x}", alpha) == (glow_ramp()[step], 255)


def test_art_of_very_many_points_is_drawn_without_outlines() -> None:
    dots = MultiPolygon([box(x, y, x + 0.5, y + 0.5) for x in range(60) for y in range(60)])
    svg = still_picture(artwork([shape("dots", dots)], []), [], (0.0, 0.0, 60.0, 60.0), TOP, "dots")
    assert len(svg) < 2000
