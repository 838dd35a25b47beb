"""Registration: known turns, shifts and mirrors are found again, and ties are told."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, scale, translate

from preprocess.geometry.relief.registration import fit_outline, size_ratio
from tests.geometry.relief.solids import LABEL

LOPSIDED = shapely.union(LABEL, shapely.Point(28, 12).buffer(5))
LEAF = shapely.Polygon([(0, 0), (20, 4), (45, 0), (38, 14), (20, 22), (6, 14)]).buffer(2)


def _area(shape):
    return shapely.MultiPolygon(shapely.get_parts([shape]).tolist())


def _drawn(shape, turn, *, mirrored):
    """Counter-clockwise as seen, where y runs down; then moved, and drawn a little coarser."""
    flipped = scale(shape, -1, 1, origin=(0, 0)) if mirrored else shape
    moved = translate(rotate(flipped, -turn, origin=(0, 0)), 63.2, 41.7)
    return _area(shapely.simplify(moved, 0.02))


@pytest.mark.parametrize(
    ("turn", "mirrored"), [(0.0, False), (37.3, True), (90.0, False), (-171.2, True)]
)
@pytest.mark.parametrize("shape", [LOPSIDED, LEAF], ids=["lopsided", "leaf"])
def test_a_lopsided_part_is_found_as_it_was_laid(shape, turn, mirrored) -> None:
    (fit,) = fit_outline(_area(shape), _drawn(shape, turn, mirrored=mirrored))
    assert fit.mirrored == mirrored
    assert abs((fit.turn - turn + 180) % 360 - 180) < 0.02
    assert fit.gap < 0.03
    a, b, c, d, e, f = fit.matrix
    assert np.hypot(e - 63.2, f - 41.7) < 0.03
    assert abs(abs(a * d - b * c) - 1) < 1e-9


def test_a_symmetric_label_fits_in_several_ways_and_the_smallest_turn_leads() -> None:
    plate = shapely.box(-20, -10, 20, 10)
    fits = fit_outline(_area(plate), _drawn(plate, 0, mirrored=False))
    assert [(round(fit.turn), fit.mirrored) for fit in fits] == [
        (0, False),
        (180, False),
        (0, True),
        (180, True),
    ]


def test_a_disc_is_not_turned() -> None:
    disc = shapely.Point(0, 0).buffer(15, quad_segs=64)
    assert abs(fit_outline(_area(disc), _drawn(disc, 0, mirrored=False))[0].turn) < 1e-3


def test_a_drawing_at_72_for_96_pixels_an_inch_is_told_by_its_size() -> None:
    drawn = _area(scale(LOPSIDED, 96 / 72, 96 / 72, origin=(0, 0)))
    assert fit_outline(_area(LOPSIDED), drawn)[0].gap > 5
    assert size_ratio(_area(LOPSIDED), drawn) == pytest.approx(0.75)
