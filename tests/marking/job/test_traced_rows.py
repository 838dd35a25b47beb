"""Heat of rows drawn as lines: as that of a raster, by every run, and only where rows are dense."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiLineString, MultiPolygon, box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import LineWork, plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.prediction import predict
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Tried, Window
from preprocess.model.bench.machine import Machine
from preprocess.passes.hatch.hatch import Hatch
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.marking import brute
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape

BENCH = Bench(machine=Machine(turnaround=1.2e-3, fly_back=2500.0, spot=0.08))
BED = shape(area_of(box(5, 5, 13, 11)))


def bed(direction=Direction.ONE_WAY, area=BED, parts=()):
    settings = replace(ENGRAVED, direction=direction)
    return artwork(area, settings=settings, score=settings, parts=parts)


def hatched(made, **given):
    return Hatch(inset=0.0, **given)(made, BENCH).artwork


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_rows_in_order_are_as_hot_as_the_raster_of_the_same_area(angle):
    """One way; the beam flies back over one row, as it does in a raster."""
    settings = replace(ENGRAVED, angle=angle)
    made = artwork(BED, settings=settings, score=ENGRAVED)
    (raster,) = heat_index(made, BENCH).images
    found = heat_index(hatched(made), BENCH)
    (own,) = found.images
    assert own.lit.sum() == raster.lit.sum()
    assert own.v == pytest.approx(raster.v, abs=1e-6)
    assert np.nanmax(np.abs(own.index[own.lit] / raster.index[raster.lit] - 1)) < 0.002
    assert own.cell == pytest.approx(raster.cell)


@pytest.mark.parametrize("direction", list(Direction))
@pytest.mark.parametrize(("every", "cross"), [(1, False), (3, False), (2, True)])
def test_points_of_every_round_are_those_of_superposition_over_every_run(direction, every, cross):
    made = hatched(bed(direction), every=every, cross=cross)
    planned = plan_of(made, BENCH.machine)
    plastic = thermal_medium_of(None, BENCH.machine)
    struck = exposures_of(planned, schedule_of(planned, BENCH.machine), plastic.watts, None)
    found = heat_index(made, BENCH)
    assert len(struck) == len(found.images) == every * (2 if cross else 1)
    anchor = None
    for number, (one, patch) in enumerate(zip(struck, found.images, strict=True)):
        for row, column in ((4, 40), (10, 12), (-3, 30)):
            point = float(patch.u[column]), float(patch.v[row])
            by_runs = brute.peak(struck[: number + 1], one, plastic, point)
            here = by_runs / patch.index[row, column]
            anchor = anchor or here
            assert here == pytest.approx(anchor, rel=0.01)


@pytest.mark.parametrize("direction", list(Direction))
def test_later_rounds_never_make_a_place_hotter_than_its_own(direction):
    """The hottest that a point ever gets, at visits of any round, is what its own round tells."""
    made = hatched(bed(direction), every=3)
    planned = plan_of(made, BENCH.machine)
    plastic = thermal_medium_of(None, BENCH.machine)
    struck = exposures_of(planned, schedule_of(planned, BENCH.machine), plastic.watts, None)
    ratios = []
    for patch in heat_index(made, BENCH).images:
        for row, column in ((4, 40), (10, 12), (-3, 30)):
            u, v = float(patch.u[column]), float(patch.v[row])
            times = np.concatenate([brute.visits(one, u, v - 1.0, 2.0) for one in struck])
            passes = plastic.sigma / struck[0].speed * np.linspace(1.0, 4.0, 7)
            while_passing = np.add.outer(times, passes).ravel()
            ever = brute.rise(struck, plastic, (u, v), while_passing).max()
            ratios.append(ever / patch.index[row, column])
    assert max(ratios) < 1.02 * min(ratios)


def test_cells_of_all_rounds_together_are_the_area():
    for every in (1, 2, 3, 5):
        found = heat_index(hatched(bed(), every=every), BENCH).images
        area = sum(patch.areas.sum() for patch in found)
        assert area == pytest.approx(8 * 6, rel=0.005)


def test_interleaved_rows_stay_cooler():
    index = [
        max(float(np.nanmax(p.index)) for p in heat_index(hatched(bed(), every=n), BENCH).images)
        for n in (1, 2, 3)
    ]
    assert index[0] > 1.05 * index[1] > 1.05 * index[2] * 0.98


def test_rows_are_cut_where_the_part_ends():
    part = MultiPolygon([box(4, 4, 9, 12)])
    (patch,) = heat_index(hatched(bed(parts=[part]), run_out=1.0), BENCH).images
    assert patch.u.max() < 9
    assert patch.part == 0


def test_what_is_hatched_warms_what_is_engraved_after_it():
    """A bed hatched in one layer, and one beside it engraved in the next."""
    beside = shape(area_of(box(13.1, 5, 15, 11)), "second", name="beside")
    first = hatched(bed())
    both = artwork(*first.shapes, beside, settings=ENGRAVED, score=ENGRAVED)
    alone = heat_index(artwork(beside), BENCH).images[0]
    _, warmed = heat_index(both, BENCH).images
    edge = float(np.nanmedian(warmed.index[:10, :2])) / float(np.nanmedian(alone.index[:10, :2]))
    assert edge > 1.02


@pytest.mark.parametrize(
    "lines",
    [
        [[(5, y), (15, y)] for y in range(5, 15)],
        [[(5, 5 + 0.1 * k), (15, 5 + 0.1 * k)] for k in range(7)],
        [[(5, 5 + 0.1 * k), (15, 5 + 0.13 * k)] for k in range(20)],
        [[(5, 5 + 0.1 * k), (10, 5 + 0.1 * k), (15, 5 + 0.1 * k)] for k in range(20)],
        [[(5, y), (9, y)] for y in (5, 5.5, 6, 12, 12.3, 12.6, 19, 19.1, 19.2)],
    ],
    ids=["far apart", "few", "a fan", "bent", "few here and there"],
)
def test_lines_that_make_up_no_rows_are_lines(lines):
    made = artwork(shape(MultiLineString(lines)))
    assert heat_index(made, BENCH).images == ()


def test_the_written_rows_have_the_same_index():
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="16mm"
      viewBox="0 0 20 16"><path id="bed" d="M5 5 H13 V11 H5 Z"/></svg>"""
    recipe = """recipe: 1
machine: {turnaround: 1.2 ms, fly_back: 2500 mm/s, spot: 0.08 mm}
settings:
  engrave: {power: 50 %, speed: 300 mm/s, pitch: 0.1 mm}
  score: {power: 50 %, speed: 300 mm/s}
passes: [PASSES]
"""
    made = convert(
        load_recipe(None, recipe.replace("PASSES", "{hatch: {every: 2, angle: 17 deg}}")),
        drawing,
        "a.svg",
    )
    again = convert(load_recipe(None, recipe.replace("[PASSES]", "[]")), made.data, "b.svg")
    one, other = (predict(r.after, r.bench, surely=False).heat.images for r in (made, again))
    assert len(one) == len(other) == 2
    for a, b in zip(one, other, strict=True):
        assert np.nanmedian(a.index) == pytest.approx(np.nanmedian(b.index), rel=1e-3)


def test_it_is_told_and_a_window_is_kept():
    made = hatched(bed(), every=3)
    (told,) = (f for f in predict(made, BENCH, surely=False).findings if f.code == "scored-rows")
    assert "in 3 rounds" in told.message
    assert "uncalibrated" in told.message
    graded = Filament(
        name="moss", reference=Reference(power=0.2, speed=300.0, pitch=0.1), window=Window()
    )
    known = replace(BENCH, filament=graded)
    found = predict(made, known, surely=False).findings
    heavy = [f for f in found if f.code == "too-heavy"]
    assert heavy
    assert {f.layer for f in heavy} == {"artwork"}
    assert any(f.code == "layer-power" and "of artwork-score" in f.message for f in found)


def test_own_rows_are_told_of_as_the_raster_they_replace():
    """Rows, return times and spans beyond what was graded, as of the same area engraved."""
    tried = Tried(power=(0.1, 1), speed=(300, 300), pitch=(0.1, 0.1), span=(2, 3))
    graded = Filament(
        name="moss", reference=Reference(power=0.5, speed=300.0, pitch=0.1), tried=tried
    )
    known = replace(BENCH, filament=replace(graded, window=Window()))
    raster, own = (predict(made, known, surely=False) for made in (bed(), hatched(bed())))
    told = [[f for f in one.findings if f.code == "beyond-graded"] for one in (raster, own)]
    assert [f.message.split(" ", 1)[1] for f in told[0]] == [
        f.message.split(" ", 1)[1] for f in told[1]
    ]
    assert "long rows, up to 8 mm" in told[1][0].message
    (was,), (now,) = (one.schedule.layers for one in (raster, own))
    assert (now.rows, now.swept) == (was.rows, pytest.approx(was.swept))
    assert now.median_return == pytest.approx(was.median_return, rel=0.02)
    assert own.heat.median == pytest.approx(raster.heat.median, rel=0.002)
    assert own.heat.too_weak == pytest.approx(raster.heat.too_weak, abs=0.01)


def test_small_dots_far_apart_are_rows_together():
    """Six rows to a dot, which are few, but the same in all of them."""
    dots = [box(5 + 2 * n, 5 + 2 * m, 5.5 + 2 * n, 5.6 + 2 * m) for n in range(3) for m in range(3)]
    images = heat_index(hatched(bed(area=shape(MultiPolygon(dots))), every=4), BENCH).images
    assert sum(image.areas.sum() for image in images) == pytest.approx(9 * 0.5 * 0.6, rel=0.05)


def test_lines_stay_line_work_in_the_plan():
    (step,) = plan_of(hatched(bed()), BENCH.machine).steps
    assert isinstance(step, LineWork)
    assert step.output.operation is Operation.SCORE
