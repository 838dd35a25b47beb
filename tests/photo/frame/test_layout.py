"""Places of markers and greys."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from preprocess.photo.frame.layout import GREY, MARKER, FrameLayout, layout_for

SIZES = [(75.0, 45.0), (75.0, 55.0), (150.0, 90.0), (215.0, 135.0)]


@pytest.mark.parametrize(
    ("part", "window"),
    [((60, 40), (75, 55)), ((20, 20), (75, 45)), ((63, 43), (75, 55)), ((63.1, 80), (80, 95))],
)
def test_the_window_leaves_room_round_the_part_in_steps_of_5_mm(part, window) -> None:
    layout = layout_for(part)
    assert (layout.width, layout.height) == window


@pytest.mark.parametrize("size", SIZES)
def test_markers_and_greys_lie_in_the_band_apart_from_one_another(size) -> None:
    layout = FrameLayout(*size)
    squares = [(x, y, MARKER) for x, y in layout.markers.tolist()]
    squares += [(x, y, GREY) for x, y, _ in layout.greys]
    assert len(squares) == 14 + 16
    left, top, right, bottom = layout.window
    for x, y, side in squares:
        assert min(x, y, layout.size[0] - x - side, layout.size[1] - y - side) >= 2.9
        outside = x + side <= left - 3 or x >= right + 3 or y + side <= top - 3 or y >= bottom + 3
        assert outside
    for (x0, y0, a), (x1, y1, b) in combinations(squares, 2):
        assert max(x1 - x0 - a, x0 - x1 - b, y1 - y0 - a, y0 - y1 - b) >= 0.9


def test_each_grey_stands_above_and_below_in_another_order() -> None:
    greys = FrameLayout(75.0, 55.0).greys
    above, below = ([g[2] for g in part] for part in (greys[:8], greys[8:]))
    assert sorted(above) == sorted(below) == [0.04, 0.08, 0.14, 0.22, 0.33, 0.47, 0.64, 0.85]
    assert above != below
    for order in (above, below):
        assert abs(np.corrcoef(np.arange(8), order)[0, 1]) < 0.5
