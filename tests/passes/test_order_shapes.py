from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from preprocess.engine.facts import CORE
from preprocess.marking.heat import effort
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.passes.order_shapes import OrderBy, OrderShapes
from tests.marking import brute
from tests.passes.benches import artwork, shape

BENCH = Bench(machine=Machine(turnaround=0.001, fly_back=1000.0))


def seeds(places, size=1.0, **more):
    return [
        shape(f"s{i}", box(x, y, x + size, y + size), **more) for i, (x, y) in enumerate(places)
    ]


def run(step, shapes, bench=BENCH, **more):
    return step(artwork(shapes, **more), bench)


def ids(outcome):
    return [s.id for s in outcome.artwork.shapes]


def message(outcome, code):
    (found,) = [f.message for f in outcome.findings if f.code == code]
    return found


ROW = [(0, 0), (20, 0), (5, 0), (15, 0), (10, 0)]


def test_travel_goes_along_the_row():
    outcome = run(OrderShapes(by=OrderBy.TRAVEL), seeds(ROW))
    assert ids(outcome) == ["s0", "s2", "s4", "s3", "s1"]
    assert message(outcome, "shapes-ordered").startswith(
        "fronds: 5 shapes ordered by travel: travel 50 → 20 mm; from the last five at least "
        "5.00 → 5.00 mm"
    )


def test_the_time_is_that_of_the_way_between_the_shapes():
    """Rows of 1 mm at 900 mm/s: ten each, 9 turnarounds with 1 mm of fly-back at 1000 mm/s.

    Each shape ends at its lower right and the next begins at its upper left: from x + 1, 0.9 down.
    """
    outcome = run(OrderShapes(by=OrderBy.TRAVEL), seeds(ROW))
    marking = 5 * (10 * 1 / 900 + 9 * (0.001 + 1 / 1000))
    before = sum(0.001 + np.hypot(d - 1, 0.9) / 1000 for d in (20, -15, 10, -5))
    after = 4 * (0.001 + np.hypot(4, 0.9) / 1000)
    assert message(outcome, "order-time") == (
        f"the job is predicted to take {marking + before:.1f} → {marking + after:.1f} s"
    )


def test_the_index_of_both_orders_is_that_of_superposition_over_every_run():
    """Beds of 1.2 mm that almost touch: what is marked right after its neighbour gets hotter."""
    beds = seeds([(1.25 * i, 0.0) for i in range(9)], 1.2)
    made = artwork(beds)
    outcome = OrderShapes()(made, BENCH)
    plastic = thermal_medium_of(None, BENCH.machine)

    def hottest(art):
        planned = plan_of(art, BENCH.machine)
        struck = exposures_of(planned, schedule_of(planned, BENCH.machine), plastic.watts, None)
        return max(
            brute.peak(struck[: n + 1], one, plastic, (float(one.start[0]) + x, float(one.y[k])))
            for n, one in enumerate(struck)
            for x in (0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.1)
            for k in (-4, -2)
        )

    told = message(outcome, "order-index")
    shown = [float(number) for number in re.findall(r"\d\.\d{3}", told)][:2]
    assert shown[1] / shown[0] == pytest.approx(hottest(outcome.artwork) / hottest(made), abs=0.01)
    assert "uncalibrated" in told


def test_a_large_drawing_is_predicted_within_the_bound_and_it_says_how(monkeypatch):
    """As `run` predicts it: a damaged drawing of 8 kB took 37 s to order 20 shapes."""
    monkeypatch.setattr(effort, "BOUND", 200)
    told = message(run(OrderShapes(by=OrderBy.TRAVEL), seeds(ROW)), "order-index")
    assert re.search(r"; both are computed in columns of \d\.\d\d mm$", told)


def test_without_a_speed_it_says_that_no_time_is_known():
    art = artwork(seeds(ROW))
    engraving = replace(art.layers[0].settings[Operation.ENGRAVE], speed=None)
    slow = replace(art.layers[0], settings={Operation.ENGRAVE: engraving})
    outcome = OrderShapes(by=OrderBy.TRAVEL)(replace(art, layers=(slow,)), BENCH)
    assert "no speed for fronds" in message(outcome, "order-untimed")


def test_what_is_best_already_stays():
    row = sorted(ROW)
    outcome = run(OrderShapes(by=OrderBy.TRAVEL), seeds(row))
    assert ids(outcome) == ["s0", "s1", "s2", "s3", "s4"]
    assert [f.code for f in outcome.findings] == ["order-stays"]


def test_layers_and_levels_are_ordered_by_themselves_and_the_rest_stands_still():
    one = seeds(ROW, level=1)
    two = [replace(s, id=f"t{i}", level=2) for i, s in enumerate(one)]
    other = [replace(s, id=f"u{i}", layer="pods", level=None) for i, s in enumerate(one)]
    line = replace(
        one[0],
        id="vein",
        operation=Operation.SCORE,
        geometry=shapely.MultiLineString([[(0, 9), (9, 9)]]),
    )
    mixed = [s for three in zip(one, two, other, strict=True) for s in three]
    outcome = run(OrderShapes(by=OrderBy.TRAVEL), [line, *mixed], shares=(1.0, 0.9))
    wanted = [f"{name}{i}" for i in (0, 2, 4, 3, 1) for name in "stu"]
    assert ids(outcome) == ["vein", *wanted]
    told = [f.message.split(":")[0] for f in outcome.findings if f.code == "shapes-ordered"]
    assert told == ["fronds-1", "fronds-2", "pods"]


def test_only_chosen_shapes_change_places():
    shapes = [
        replace(s, sources=(replace(s.sources[0], label="Seeds" if i != 1 else "Leaf"),))
        for i, s in enumerate(seeds(ROW))
    ]
    outcome = run(OrderShapes(by=OrderBy.TRAVEL, only=Selection(label="Seeds")), shapes)
    assert ids(outcome) == ["s0", "s1", "s2", "s4", "s3"]


def test_it_says_that_each_colour_is_swept_as_a_whole_anyway():
    bench = Bench(machine=Machine(raster_groups=RasterGroups.EACH_COLOUR))
    assert message(run(OrderShapes(), seeds(ROW), bench), "order-shapes-without-effect")


def lattice(columns, rows):
    return [(3.0 * (i % columns), 3.0 * (i // columns)) for i in range(columns * rows)]


def test_coolness_leaves_more_room_for_more_travel():
    outcome = run(OrderShapes(), seeds(lattice(18, 12)), pitch=None)
    before, after = (
        [tuple(s.geometry.bounds[:2]) for s in art.shapes]
        for art in (artwork(seeds(lattice(18, 12))), outcome.artwork)
    )
    assert sorted(before) == sorted(after)
    five = [
        min(np.hypot(*np.subtract(after[i], after[j])) for j in range(max(0, i - 5), i))
        for i in range(1, len(after))
    ]
    assert np.quantile(five, 0.01) >= 6
    told = message(outcome, "shapes-ordered")
    way = sum(np.hypot(*np.subtract(a, b)) for a, b in pairwise(after))
    assert f"→ {way:.0f} mm; from the last five at least 3.00 → {min(five):.2f} mm" in told


def test_a_mix_travels_less_than_coolness_and_more_than_the_shortest_way():
    ways = []
    for step in (
        OrderShapes(by=OrderBy.TRAVEL),
        OrderShapes(by=OrderBy.MIX, weight=0.5),
        OrderShapes(by=OrderBy.COOLNESS),
    ):
        shapes = run(step, seeds(lattice(18, 12)), pitch=None).artwork.shapes
        at = np.array([s.geometry.bounds[:2] for s in shapes])
        ways.append(float(np.hypot(*np.diff(at, axis=0).T).sum()))
    assert ways[0] <= ways[1] <= ways[2]


PLACES = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 12)), min_size=1, max_size=30, unique=True
)
STEPS = st.sampled_from(
    [
        OrderShapes(),
        OrderShapes(repair=False),
        OrderShapes(by=OrderBy.TRAVEL),
        OrderShapes(by=OrderBy.MIX),
    ]
)


@settings(max_examples=20, deadline=None)
@given(PLACES, STEPS)
def test_the_same_shapes_come_out_and_a_second_run_changes_nothing(places, step):
    shapes = [replace(s, bars=MultiPolygon([box(50, 0, 51, 1)])) for s in seeds(places, 0.5)]
    before = artwork(shapes)
    after = step(before, BENCH).artwork
    assert sorted(after.shapes, key=lambda s: int(s.id[1:])) == shapes
    assert replace(after, shapes=()) == replace(before, shapes=())
    assert step(after, BENCH).artwork == after
    for fact in CORE:
        assert fact.holds(after, "fronds") == fact.holds(before, "fronds")


@settings(max_examples=30, deadline=None)
@given(PLACES, STEPS, st.integers(-9, 9), st.integers(-9, 9))
def test_moving_the_drawing_does_not_change_the_order(places, step, dx, dy):
    moved = [(x + dx, y + dy) for x, y in places]
    one, other = (run(step, seeds(at, 0.5), pitch=None) for at in (places, moved))
    assert ids(one) == ids(other)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_few_shapes_stay(count):
    outcome = run(OrderShapes(), seeds(ROW[:count]))
    assert ids(outcome) == [f"s{i}" for i in range(count)]
