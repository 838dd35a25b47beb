"""Squares to measure after import: their size, their place, and what they must leave alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.machine import FirstRow, Machine
from preprocess.pipeline import convert, make_report
from preprocess.recipe.load import load_recipe
from preprocess.write.guides.check_square import with_squares
from preprocess.write.placing import offset
from tests import written_svg as written
from tests.labels import fern_label

JOBS = Path(__file__).parents[3] / "fixtures" / "jobs"


def run(name: str, extra: str):
    path = JOBS / f"{name}.yaml"
    text = path.read_text("utf-8").replace("\npasses:", f"\n{extra}passes:")
    loaded = load_recipe(path, text)
    return convert(loaded, loaded.design.read_bytes(), loaded.design.name), loaded


@pytest.fixture(scope="module")
def both():
    (plain, _), (squared, loaded) = (
        run("moth/moth-together", e) for e in ("", "check_square: true\n")
    )
    return plain, squared, loaded


def test_two_squares_of_ten_millimetres_stand_outside_of_everything(both) -> None:
    _, squared, loaded = both
    size, layers = written.read(squared.data)
    *marked, guide = layers
    assert guide.title == "check-square"
    assert not guide.filled
    (squares,) = guide.paths
    part = (60.0, 52.0)
    for ring, above in zip(squares, (True, False), strict=True):
        assert np.ptp(ring, axis=0).tolist() == pytest.approx([10.0, 10.0])
        assert written.long(ring) == pytest.approx(40.0)
        assert (ring > 0).all()
        assert (ring < size).all()
        edge = (size[1] + (-part[1] if above else part[1])) / 2
        assert (ring[:, 1] < edge).all() if above else (ring[:, 1] > edge).all()
        points = np.concatenate([layer.points for layer in marked])
        assert ring[:, 1].max() < points[:, 1].min() or ring[:, 1].min() > points[:, 1].max()
    assert loaded.as_run["check_square"] is True


def test_the_middle_of_page_and_box_stay(both) -> None:
    plain, squared, _ = both
    middles = []
    for result in (plain, squared):
        size, layers = written.read(result.data)
        points = np.concatenate([layer.points for layer in layers])
        middles.append((points.min(axis=0) + points.max(axis=0)) / 2 - np.array(size) / 2)
    assert middles[0] == pytest.approx(middles[1], abs=2e-4)
    assert squared.after.page.centre == pytest.approx(plain.after.page.centre)
    assert offset(squared.after) == offset(plain.after)


def test_what_is_marked_stays_as_it_is(both) -> None:
    plain, squared, _ = both
    before, after = (written.read(result.data) for result in (plain, squared))
    moved = (np.array(after[0]) - before[0]) / 2
    assert [layer.title for layer in after[1]] == [
        *(one.title for one in before[1]),
        "check-square",
    ]
    assert [one.colour for one in after[1][:-1]] == [one.colour for one in before[1]]
    for one, other in zip(before[1], after[1], strict=False):
        assert one.points + moved == pytest.approx(other.points, abs=1.01e-4)  # ties of rounding


def test_it_is_told_and_balances(both) -> None:
    _, squared, loaded = both
    (told,) = (f for f in squared.findings if f.code == "check-square")
    assert "check-square" in told.message
    assert "switch" in told.remedy
    assert b'"check_square"' in make_report(squared, loaded, "moth.svg")
    assert squared.amounts[1]["check-square"].length == pytest.approx(80.0)


def test_rows_on_the_grid_of_the_page_stay_where_they_are() -> None:
    machine = Machine(first_row=FirstRow.PAGE)
    label = fern_label()
    layers = tuple(
        replace(one, settings={Operation.ENGRAVE: Settings(power=0.5, pitch=p, angle=0.0)})
        for one, p in zip(label.layers, (0.08, 0.05, 0.1), strict=False)
    )
    label = replace(label, layers=layers, page=Page(width=76.0, height=52.0, left=2.0))
    squared, _ = with_squares(label)
    assert squared.page.height > label.page.height
    grids = []
    for artwork in (label, squared):
        steps = plan_of(artwork, machine).steps
        grids.append([step.first for step in steps if isinstance(step, RasterGroup)])
    assert grids[0]
    assert grids[0] == pytest.approx(grids[1])


def test_a_layer_of_that_name_keeps_it() -> None:
    label = fern_label()
    names = ("check-square", *(layer.name for layer in label.layers[1:]))
    old = {layer.name: name for layer, name in zip(label.layers, names, strict=True)}
    label = replace(
        label,
        layers=tuple(replace(one, name=old[one.name]) for one in label.layers),
        shapes=tuple(replace(one, layer=old[one.layer]) for one in label.shapes),
    )
    squared, (told,) = with_squares(label)
    assert squared.layers[-1].name == "check-square-2"
    assert "check-square-2" in told.message


def test_parts_and_keep_off_areas_push_the_squares_away() -> None:
    label = replace(fern_label(), keep_off=(MultiPolygon([box(30, -20, 50, -10)]),))
    squared, _ = with_squares(label)
    _, top, _, bottom = squared.shapes[-1].geometry.bounds
    assert top == pytest.approx(-20 - 3 - 10)
    assert bottom > max(part.bounds[3] for part in label.parts) + 10


def test_nothing_to_mark_gets_no_squares() -> None:
    empty = replace(fern_label(), shapes=())
    assert with_squares(empty) == (empty, ())
