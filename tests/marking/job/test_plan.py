"""What the software will sweep together, in which order, on which rows."""

import dataclasses
import math

import numpy as np
import pytest
from shapely import MultiLineString, MultiPolygon, box
from shapely.affinity import rotate

from preprocess.marking.job.plan import LineWork, RasterGroup, plan_of
from preprocess.marking.job.rows import row_runs, row_spans
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.machine import FirstRow, Machine, RasterGroups
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, square, triangle

DOTS = [shape(square(8 * i, 2, 4), name=f"dot-{i}") for i in range(3)]


def groups(art, **machine):
    steps = plan_of(art, Machine(**machine)).steps
    return [step for step in steps if isinstance(step, RasterGroup)]


def test_each_path_is_swept_by_itself_in_the_order_of_the_file():
    found = groups(artwork(*DOTS))
    assert [g.shapes[0].id for g in found] == ["dot-0", "dot-1", "dot-2"]
    assert [g.area.bounds[0] for g in found] == [0, 8, 16]


def test_a_colour_is_swept_together_where_the_software_does_so():
    (group,) = groups(artwork(*DOTS), raster_groups=RasterGroups.EACH_COLOUR)
    assert len(group.shapes) == 3
    spans = row_spans(group)
    assert spans.span == pytest.approx(20.0)
    assert spans.lit == pytest.approx(12.0)


def test_overlapping_paths_of_a_colour_are_one_area():
    art = artwork(shape(square(0, 0, 4)), shape(square(2, 0, 4)))
    (group,) = groups(art, raster_groups=RasterGroups.EACH_COLOUR)
    assert row_spans(group).lit == pytest.approx(6.0)


def test_bars_belong_to_the_rows_of_their_group():
    bars = area_of(box(-5, 0, -3, 4), box(7, 0, 9, 4))
    (group,) = groups(artwork(shape(square(0, 0, 4), bars=bars)))
    spans = row_spans(group)
    assert (spans.start[0], spans.end[0]) == (-5.0, 9.0)
    assert spans.lit == pytest.approx(8.0)
    assert len(row_runs(group)) == 3 * len(spans)


def test_a_layer_without_pitch_is_named_and_not_planned():
    art = artwork(shape(square(0, 0, 4)), settings=dataclasses.replace(ENGRAVED, pitch=None))
    found = plan_of(art, Machine())
    assert found.steps == ()
    assert found.unplanned == ("artwork",)


def test_lines_to_engrave_are_named_and_the_areas_planned_all_the_same():
    line = MultiLineString([[(0, 0), (5, 5)]])
    art = artwork(shape(square(0, 0, 4)), shape(line, operation=Operation.ENGRAVE))
    found = plan_of(art, Machine())
    assert len(found.steps) == 1
    assert found.unplanned == ("artwork",)


def test_a_job_that_is_planned_whole_names_nothing():
    line = MultiLineString([[(0, 0), (5, 5)]])
    found = plan_of(artwork(shape(square(0, 0, 4)), shape(line, name="vein")), Machine())
    assert len(found.steps) == 2
    assert found.unplanned == ()


@pytest.mark.parametrize("rule", RasterGroups)
def test_what_is_empty_is_no_step(rule):
    nothing = shape(MultiPolygon(), name="gone")
    art = artwork(nothing, shape(MultiLineString(), name="vein"))
    assert plan_of(art, Machine(raster_groups=rule)).steps == ()
    art = artwork(nothing, *DOTS)
    assert all(step.shapes[0].id != "gone" for step in groups(art, raster_groups=rule))


@pytest.mark.parametrize(("repeats", "times"), [(None, 1), (1, 1), (3, 3)])
def test_areas_and_lines_are_marked_as_often_as_their_layer_says(repeats, times):
    score = Settings(speed=20.0, power=0.3, repeats=repeats)
    line = shape(MultiLineString([[(0, 0), (5, 5)]]), name="vein")
    engraved = dataclasses.replace(ENGRAVED, repeats=repeats)
    art = artwork(shape(square(0, 0, 4)), line, settings=engraved, score=score)
    steps = plan_of(art, Machine()).steps
    assert [step.repeats for step in steps] == [times, times]
    assert [step.pause for step in steps] == [0.0, 0.0]
    # a step that is put together by hand, whose settings leave the count open
    bare = [dataclasses.replace(s, settings=Settings(repeats=repeats)) for s in steps]
    assert [step.repeats for step in bare] == [times, times]


def test_a_single_area_without_bars_is_swept_as_it_is():
    slit = MultiPolygon([box(0, 0, 4, 4), box(4.000001, 0, 8, 4)])
    (group,) = groups(artwork(shape(slit)))
    assert group.area is slit


def test_what_a_layer_leaves_open_is_one_way_along_x_once():
    art = artwork(shape(square(0, 0, 4)), settings=Settings(pitch=0.1))
    (group,) = groups(art)
    assert (group.angle, group.repeats, group.settings.direction) == (0.0, 1, Direction.ONE_WAY)


def test_engraving_comes_before_scoring_and_cutting_outlines_are_traced():
    art = artwork(
        shape(square(0, 0, 4), operation=Operation.CUT, name="rim"),
        shape(MultiLineString([[(1, 1), (3, 1)]]), name="vein"),
        shape(square(1, 1, 1)),
    )
    steps = plan_of(art, Machine()).steps
    assert [s.output.operation for s in steps] == ["engrave", "score", "cut"]
    assert isinstance(steps[2], LineWork)
    assert steps[2].lines.length == 16


def test_the_pause_comes_once_between_two_layers():
    art = artwork(*DOTS, *[dataclasses.replace(d, layer="second") for d in DOTS])
    assert [s.pause for s in plan_of(art, Machine(layer_pause=0.5)).steps] == [0, 0, 0, 0.5, 0, 0]


def test_levels_take_their_share_of_the_power_from_the_widest_on():
    art = artwork(
        shape(square(0, 9, 1), level=2), shape(square(0, 0, 9), level=1), shares=(1.0, 0.8)
    )
    found = groups(art)
    assert [g.output.id for g in found] == ["artwork-1", "artwork-2"]
    assert [g.settings.power for g in found] == [0.5, 0.4]


@pytest.mark.parametrize(
    ("rule", "first", "count"),
    [
        # a square from y = 2.03 to 6.03 with rows 0.1 apart; page starts at y = -1
        (FirstRow.EDGE, 2.03, 40),
        (FirstRow.HALF_PITCH, 2.08, 40),
        (FirstRow.PAGE, 2.1, 40),
    ],
)
def test_where_rows_begin(rule, first, count):
    page = Page(width=50, height=50, left=-3, top=-1)
    (group,) = groups(artwork(shape(square(0, 2.03, 4)), page=page), first_row=rule)
    assert group.first == pytest.approx(first, abs=1e-12)
    assert group.count == count
    assert len(row_spans(group)) == count


@pytest.mark.parametrize("top", [0.3, 0.1 + 0.2, 0.3 - 1e-16])
def test_a_row_on_the_edge_counts_though_the_edge_was_rounded(top):
    page = Page(width=50, height=50)
    (group,) = groups(artwork(shape(box(0, top, 4, 1.3)), page=page), first_row=FirstRow.PAGE)
    assert group.first == pytest.approx(0.3, abs=1e-12)
    assert group.count == 10


def test_between_two_rows_there_is_none():
    thin = shape(box(0, 0.01, 4, 0.09))
    (group,) = groups(artwork(thin, page=Page(width=50, height=50)), first_row=FirstRow.PAGE)
    assert group.count == 0


def test_rows_of_the_page_are_counted_from_its_corner_at_any_angle():
    page = Page(width=50, height=50, left=-3.02, top=-1.01)
    settings = dataclasses.replace(ENGRAVED, angle=30.0)
    art = artwork(shape(square(1, 2, 4)), page=page, settings=settings)
    (group,) = groups(art, first_row=FirstRow.PAGE)
    corner = -3.02 * math.sin(math.radians(30)) - 1.01 * math.cos(math.radians(30))
    steps = (group.first - corner) / 0.1
    assert steps == pytest.approx(round(steps), abs=1e-9)


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0, 213.0])
@pytest.mark.parametrize("decimals", [4, 12])
def test_a_rectangle_along_the_rows_has_equal_rows_at_any_angle(angle, decimals):
    # 20 x 4 mm, 40 rows; corners rounded as the writer rounds them
    turned = rotate(box(0, 0, 20, 4), -angle, origin=(0, 0))
    points = np.round(np.array(turned.exterior.coords), decimals)
    art = artwork(shape(type(turned)(points)), settings=dataclasses.replace(ENGRAVED, angle=angle))
    (group,) = groups(art)
    spans = row_spans(group)
    assert len(spans) == 40
    assert spans.span == pytest.approx(20.0, abs=3e-4)


def test_rows_of_a_leaf_narrow_evenly_and_there_is_none_on_the_tip():
    (group,) = groups(artwork(shape(triangle())))
    spans = row_spans(group)
    assert len(spans) == 500
    assert spans.span == pytest.approx(36 * (1 - np.arange(500) / 500), abs=1e-9)


def test_a_blank_band_has_no_rows():
    art = artwork(shape(area_of(square(0, 0, 1), square(0, 5, 1))))
    (group,) = groups(art)
    spans = row_spans(group)
    assert group.count == 60
    assert spans.row.tolist() == [*range(10), *range(50, 60)]
