"""Own rows count against their own patch: by definition its index is 1, and it goes with power."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiLineString, box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, OwnRowsReference, Reference, Window
from tests.marking.drawn import artwork, shape
from tests.marking.struck import GALVO, settings

PATCH = OwnRowsReference(size=(8.0, 5.0), power=0.4, speed=600.0, pitch=0.1, rounds=4)
SWEPT = Reference(size=(8.0, 8.0), power=0.5, speed=900.0, pitch=0.1)
GRADED = Filament(name="moss", reference=SWEPT, window=Window(), own_rows=PATCH)


def own_rows(power, *, speed=600.0):
    """A bed of 8 × 5 mm as lines, rows 0, 2, 1, 3 of every four first, written down by hand."""
    rows = [n for first in (0, 2, 1, 3) for n in range(first, 50, 4)]
    lines = MultiLineString([[(0, 0.05 + 0.1 * n), (8, 0.05 + 0.1 * n)] for n in rows])
    bed = replace(shape(box(0, 0, 8, 5)), operation=Operation.SCORE, geometry=lines)
    art = artwork(bed, settings=settings())
    scored = {Operation.SCORE: Settings(power=power, speed=speed, repeats=1)}
    layers = tuple(
        Layer(name=layer.name, operation=layer.operation, settings=scored) for layer in art.layers
    )
    return replace(art, layers=layers)


def index_of(art, filament):
    (median,) = layer_medians(heat_index(art, Bench(machine=GALVO, filament=filament))).values()
    return median


@pytest.mark.parametrize(("power", "index"), [(0.4, 1.0), (0.2, 0.5), (0.6, 1.5)])
def test_rows_like_the_patch_have_its_index(power, index):
    assert index_of(own_rows(power), GRADED) == pytest.approx(index, rel=0.01)


def test_without_a_patch_of_their_own_they_count_against_the_swept_one():
    bare = replace(GRADED, own_rows=None)
    swept = artwork(shape(box(0, 0, 8, 8)), settings=settings(900.0, power=0.5, two_way=False))
    assert index_of(swept, bare) == pytest.approx(1.0, abs=0.001)
    assert index_of(swept, GRADED) == pytest.approx(1.0, abs=0.001)
    # half the light per mm of 900 mm/s at 50 % would be 600 mm/s at 33 %; rows in rounds are cooler
    assert index_of(own_rows(1 / 3), bare) < 0.95


def test_a_speed_correction_counts_from_the_speed_of_their_patch():
    slow = replace(GRADED, speed_correction=0.5)
    ratio = index_of(own_rows(0.4, speed=1200.0), slow) / index_of(
        own_rows(0.4, speed=1200.0), GRADED
    )
    assert ratio == pytest.approx(np.sqrt(1200 / 600), rel=1e-6)
