"""Built coupons: their layers, rows and heat."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import MultiPolygon, Point, box

from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Reference
from preprocess.model.bench.machine import RasterGroups
from tests.coupon.benches import BENCH, MACHINE, SPOOL, made
from tests.coupon.drawn import KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_speaks_against_a_coupon(kind: str) -> None:
    coupon = made(kind)
    codes = {f.code for f in check_artwork(coupon.artwork, coupon.bench)}
    assert codes <= {"below-the-spot"}
    assert coupon.id.startswith(f"{kind}-")
    assert len(coupon.id.removeprefix(f"{kind}-")) == 8
    ids = {shape.id for shape in coupon.artwork.shapes}
    assert all(set(cell.shapes) <= ids for cell in coupon.cells)
    assert len({name for cell in coupon.cells for name in cell.shapes}) == sum(
        len(cell.shapes) for cell in coupon.cells
    )


def test_software_that_sweeps_colours_lengthens_no_row() -> None:
    machine = replace(MACHINE, raster_groups=RasterGroups.EACH_COLOUR)
    for kind in ("row-span", "together-apart", "sizes", "bar-distance"):
        apart = plan_of(made(kind).artwork, MACHINE).steps
        together = plan_of(made(kind, replace(BENCH, machine=machine)).artwork, machine).steps
        assert longest(apart) == longest(together)


def longest(steps):
    found = {}
    for step in steps:
        if hasattr(step, "shapes"):
            spans = row_spans(step).span
            found.setdefault(step.output.id, []).extend(spans.round(3).tolist())
    return {layer: max(spans) for layer, spans in found.items()}


@pytest.mark.parametrize("name", ["A2", "C4"])
def test_a_blade_is_as_hot_as_a_rectangle_that_stands_alone(name: str) -> None:
    graded = replace(SPOOL, reference=Reference(power=0.3))  # else indices are medians of the job
    timed = replace(MACHINE, turnaround=0.0012, fly_back=2500.0, rated_power=3.0)
    coupon = made("row-span", Bench(machine=timed, filament=graded))
    (cell,) = (cell for cell in coupon.cells if cell.name == name)
    (shape,) = (shape for shape in coupon.artwork.shapes if shape.id in cell.shapes)
    left, top, _, bottom = shape.geometry.bounds
    alone = MultiPolygon([box(left, top, left + cell.size["span"], bottom)])
    single = replace(coupon.artwork, shapes=(replace(shape, geometry=alone),))
    (patch,) = predict(single, coupon.bench).heat.images
    within = [
        float(np.median(p.index[p.lit]))
        for p in predict(coupon.artwork, coupon.bench).heat.images
        if shape.geometry.contains(Point(p.points[0][p.lit].mean(), p.points[1][p.lit].mean()))
    ]
    assert within == [pytest.approx(float(np.median(patch.index[patch.lit])), rel=1e-3)]


def test_layers_are_named_in_order_and_labels_come_last() -> None:
    layers = [layer.name for layer in made().artwork.layers]
    assert layers[-1] == "labels"
    assert all(ord(b) - ord(a) == 1 for a, b in pairwise(layers[:-1]))
