"""What zones and bars promise on any art: exact tiles, whole rows, seams kept or told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from preprocess.errors import Refusal
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Machine
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.passes.benches import artwork, leaf, shape

LABEL = box(2, 2, 58, 38)
ART = st.lists(
    st.builds(
        leaf,
        st.floats(14, 46),
        st.floats(10, 30),
        st.floats(5, 14),
        st.floats(1.5, 6),
        st.floats(-1.5, 1.5),
    ),
    min_size=1,
    max_size=3,
).map(shapely.union_all)


def levels_of(area, by, angle, rule, levels=3):
    bench = Bench(machine=Machine(first_row=rule))
    out = TagPower(by=by, levels=levels)(artwork([shape("a", area)], angle=angle), bench)
    return out, bench


@settings(max_examples=25, deadline=None)
@given(
    ART,
    st.sampled_from([PowerBy.ROW_SPAN, PowerBy.WIDTH, PowerBy.RETURN_TIME]),
    st.sampled_from([0.0, 31.0]),
)
def test_zones_of_any_leaves_tile_exactly(area, by, angle):
    out, _ = levels_of(area, by, angle, FirstRow.EDGE)
    zones = [s.geometry for s in out.artwork.shapes]
    assert abs(sum(z.area for z in zones) - area.area) <= 1e-9 * area.area
    overlaps = [a.intersection(b).area for i, a in enumerate(zones) for b in zones[:i]]
    assert max(overlaps, default=0.0) <= 1e-9 * area.area
    assert shapely.union_all(zones).symmetric_difference(area).area <= 1e-9 * area.area


def test_zones_by_heat_tile_a_ring_of_leaves_exactly():
    ring = shapely.union_all([leaf(30, 20, 20, 6, turn) for turn in (0.0, 0.7, 1.4)])
    ring = ring.difference(box(28, 18, 32, 22))
    out, _ = levels_of(ring, PowerBy.HEAT, 0.0, FirstRow.EDGE)
    zones = [s.geometry for s in out.artwork.shapes]
    assert sum(z.area for z in zones) == pytest.approx(ring.area, rel=1e-9)
    assert shapely.union_all(zones).symmetric_difference(ring).area <= 1e-9 * ring.area


@settings(max_examples=20, deadline=None)
@given(
    ART,
    st.sampled_from([PowerBy.ROW_SPAN, PowerBy.WIDTH]),
    st.sampled_from([0.0, 31.0]),
    st.sampled_from(list(FirstRow)),
)
def test_seams_keep_one_grid_of_rows_or_say_by_how_much_they_miss_it(area, by, angle, rule):
    out, bench = levels_of(area, by, angle, rule)
    steps = plan_of(out.artwork, bench.machine_or_default).steps
    firsts = np.array([step.first for step in steps])
    miss = np.abs((firsts - firsts[0]) / 0.1 - np.round((firsts - firsts[0]) / 0.1)).max() * 0.1
    told = [f for f in out.findings if f.code == "rows-off-grid"]
    if rule is FirstRow.PAGE:
        assert miss < 1e-6
    if miss > 0.0006:
        assert f"up to {miss:.3f} mm" in told[0].message
    else:
        assert not told
    if not told and by is PowerBy.ROW_SPAN:
        rows = np.sort(np.concatenate([row_spans(step).v for step in steps]))
        assert (np.diff(rows) > 0.0994).all()


@settings(max_examples=20, deadline=None)
@given(ART, st.sampled_from([0.0, 31.0]), st.integers(1, 9))
def test_no_zone_is_lower_than_asked_unless_its_piece_is(area, angle, least):
    before = artwork([shape("a", area)], angle=angle)
    out = TagPower(min_rows=least, levels=4)(before, Bench()).artwork
    (whole,) = plan_of(before, Machine()).steps
    lit = row_spans(whole).row
    stretches = np.split(lit, np.flatnonzero(np.diff(lit) > 1) + 1)
    shortest = min(len(stretch) for stretch in stretches)
    for step in plan_of(out, Machine()).steps:
        assert len(row_spans(step)) >= min(least, shortest)


BEDS = st.lists(
    st.tuples(st.floats(8, 40), st.floats(6, 28), st.floats(1, 12), st.floats(0.5, 8)),
    min_size=2,
    max_size=4,
)


@settings(max_examples=40, deadline=None)
@given(BEDS, st.lists(st.sampled_from([0.0, 0.0, 90.0, 45.0]), min_size=4, max_size=4))
def test_bars_of_different_layers_never_overlap(beds, angles):
    shapes = [
        shape(f"s{i}", box(x, y, x + w, y + h), f"bed-{i}") for i, (x, y, w, h) in enumerate(beds)
    ]
    made = artwork(shapes)
    layers = tuple(
        replace(
            layer,
            settings={Operation.ENGRAVE: replace(layer.settings[Operation.ENGRAVE], angle=angle)},
        )
        for layer, angle in zip(made.layers, angles, strict=False)
    )
    made = replace(made, layers=layers, parts=artwork([], [LABEL]).parts)
    try:
        out = EqualizeWidth()(made, Bench()).artwork
    except Refusal:
        return
    bars = [s.bars for s in out.shapes if s.bars is not None]
    for i, one in enumerate(bars):
        for other in bars[:i]:
            assert one.intersection(other).area == 0.0


def test_bars_of_levels_that_take_turns_do_not_meet_either():
    """A kite whose narrow level lies above and below the wide one."""
    kite = Polygon([(30, 8), (46, 20), (30, 32), (14, 20)])
    cut = TagPower(levels=3)(artwork([shape("a", kite)], [LABEL]), Bench()).artwork
    out = EqualizeWidth()(cut, Bench()).artwork
    bars = [s.bars for s in out.shapes]
    assert len(bars) == 3
    assert shapely.union_all(bars).area == pytest.approx(sum(b.area for b in bars), rel=1e-12)
