"""Rows of many groups that are swept together: each as if it were alone."""

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.marking.job import rows
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_runs, runs_of_groups
from preprocess.model.bench.machine import FirstRow, Machine
from tests.marking.drawn import artwork, blade, shape, square, triangle
from tests.marking.struck import settings

LEAVES = [
    shape(square(2, 3, 4), name="square"),
    shape(triangle(10, 0.05, 6, 7), name="triangle"),
    shape(square(20, 1, 8).difference(square(22, 3, 3)), name="ring"),
    shape(box(30, 5, 40, 5.04), name="a line too low for a row"),
    shape(blade(12, 3, 25), name="blade"),
    shape(MultiPolygon([square(50, 2, 2), square(50, 6, 2)]), name="two dots"),
]


def groups(angle=0.0, first_row=FirstRow.EDGE):
    art = artwork(*LEAVES, settings=settings(angle=angle))
    return list(plan_of(art, Machine(first_row=first_row)).steps)


def same(one, other):
    return all(
        np.array_equal(getattr(one, name), getattr(other, name))
        for name in ("row", "start", "end", "group")
    )


@pytest.mark.parametrize("at_once", [100_000, 1, 40])
@pytest.mark.parametrize("first_row", FirstRow)
@pytest.mark.parametrize("angle", [0.0, 90.0, 33.3])
def test_groups_swept_together_have_the_runs_of_each_alone(monkeypatch, angle, first_row, at_once):
    monkeypatch.setattr(rows, "_POINTS_AT_ONCE", at_once)
    every = groups(angle, first_row)
    found = runs_of_groups(every)
    assert len(found) == len(LEAVES)
    assert all(same(one, row_runs(group)) for one, group in zip(found, every, strict=True))


def test_the_rows_of_squares_are_as_long_as_their_sides():
    ordinary, *_, dots = runs_of_groups(groups())
    assert ordinary.end - ordinary.start == pytest.approx(np.full(40, 4.0))
    assert dots.row.tolist() == [*range(20), *range(40, 60)]
    assert dots.start == pytest.approx(np.full(40, 50.0))


def test_no_groups_have_no_runs():
    assert runs_of_groups([]) == []
