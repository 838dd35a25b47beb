"""Bars for rows that return too soon, and what rows gain by bars: hand calculations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, box

from preprocess.errors import Refusal
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Gaps, Machine
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from tests.passes.benches import artwork, shape

LABEL = box(10, 6, 50, 34)
GALVO = Machine(field=(110.0, 110.0), turnaround=2e-3, fly_back=2000.0)
ROOMY = Bench(machine=GALVO)
PER_MM = 1 / 900 + 1 / 2000
"""Seconds for each mm of a row at 900 mm/s, one way, back at 2000 mm/s."""

SPAN = 40 + 2 * (2.00015 + 0.6)
"""From bar to bar beside a part of 40 mm, 2 mm and 1.5 steps of the written grid away, mm."""

TULIP = shapely.union_all([box(12, 8, 48, 12), box(28, 12, 32, 16)])
"""40 rows of 36 mm (60 ms), then 40 rows of 4 mm (8.44 ms)."""


def with_settings(art, **changes):
    layers = []
    for layer in art.layers:
        engraved = replace(layer.settings[Operation.ENGRAVE], **changes)
        layers.append(replace(layer, settings={Operation.ENGRAVE: engraved}))
    return replace(art, layers=tuple(layers))


def gains(outcome):
    return [f.message for f in outcome.findings if f.code == "rows-gain-time"]


def barred_rows(art, machine=GALVO):
    (step,) = plan_of(art, machine).steps
    spans = row_spans(step)
    return spans.row[np.abs(spans.span - SPAN) < 1e-6].tolist()


def test_what_all_rows_gain_and_what_it_costs():
    out = EqualizeWidth()(artwork([shape("a", box(20, 10, 30, 16))], [LABEL]), ROOMY)
    before, after = 10 * PER_MM + 2e-3, SPAN * PER_MM + 2e-3
    # 60 rows; after the last one nobody flies back
    added = 59 * (after - before) + (SPAN - 10) / 900
    assert (before, after, added) == pytest.approx((18.11e-3, 74.82e-3, 3.385), abs=5e-4, rel=1e-3)
    (message,) = gains(out)
    first, _, second = message.partition("; ")
    assert first == "shortest return time of fronds: 18.1 ms without bars, 74.8 ms with bars"
    assert second == f"60 of 60 rows gain time; the bars add {added:.3g} s"


def test_the_seconds_are_those_of_the_schedule():
    art = with_settings(artwork([shape("a", TULIP)], [LABEL]), repeats=3)
    out = EqualizeWidth()(art, ROOMY)
    one, other = (schedule_of(plan_of(a, GALVO), GALVO).total for a in (art, out.artwork))
    # between two repeats the beam hops from the last row's end to the first row's start
    corner = lambda x0, y0, x1, y1: float(np.hypot(x1 - x0, y1 - y0)) / 2000
    left, right = 30 - SPAN / 2, 30 + SPAN / 2
    hops = 2 * (corner(right, 15.9, left, 8) - corner(32, 15.9, 12, 8))
    assert gains(out)[0].endswith(f"the bars add {other - one - hops:.3g} s")
    assert "80 of 80 rows" in gains(out)[0]


def test_only_rows_that_return_too_soon_get_bars_when_asked():
    out = EqualizeWidth(quicker_than=30e-3)(artwork([shape("a", TULIP)], [LABEL]), ROOMY)
    assert barred_rows(out.artwork) == list(range(40, 80))
    assert out.artwork.shapes[0].bars.bounds[1] >= 11.97
    # the soonest are then the wide rows: 36 mm
    assert "8.44 ms without bars, 60 ms with bars; 40 of 80 rows" in gains(out)[0]


def test_the_limit_itself_is_soon_enough():
    art = artwork([shape("a", TULIP)], [LABEL])
    narrow = 4 * PER_MM + 2e-3
    assert len(barred_rows(EqualizeWidth(quicker_than=narrow + 1e-6)(art, ROOMY).artwork)) == 40
    with pytest.raises(Refusal, match="no row needs a bar") as caught:
        EqualizeWidth(quicker_than=narrow - 1e-6)(art, ROOMY)
    assert "a larger quicker_than" in caught.value.remedy


def test_both_limits_hold_together():
    art = artwork([shape("a", TULIP)], [LABEL])
    both = EqualizeWidth(narrower_than=38.0, quicker_than=30e-3)(art, ROOMY).artwork
    assert barred_rows(both) == list(range(40, 80))
    with pytest.raises(Refusal) as caught:
        EqualizeWidth(narrower_than=3.0, quicker_than=30e-3)(art, ROOMY)
    assert "narrower_than or quicker_than" in caught.value.remedy


def test_rows_that_jump_a_gap_are_quick_without_being_narrow():
    jumping = replace(GALVO, gaps=Gaps.JUMPED, fly_back=3200.0)
    trough = shapely.union_all([box(12, 8, 16, 12), box(44, 8, 48, 12), box(12, 12, 48, 16)])
    # rims: 8 / 900 + 28 / 3200 + 36 / 3200 s + 2 ms = 30.9 ms
    # floor: 36 / 900 + 36 / 3200 s + 2 ms = 53.3 ms
    out = EqualizeWidth(quicker_than=40e-3)(
        artwork([shape("a", trough)], [LABEL]), Bench(machine=jumping)
    )
    assert barred_rows(out.artwork, jumping) == list(range(40))


def test_a_row_without_a_neighbour_is_not_quick():
    dots = MultiPolygon([box(20, 10, 24, 12), box(30, 20, 34, 20.1)])
    out = EqualizeWidth(quicker_than=30e-3)(artwork([shape("a", dots)], [LABEL]), ROOMY)
    assert barred_rows(out.artwork) == list(range(20))


def test_each_level_says_what_its_rows_gain():
    shapes = [
        shape("a", box(12, 8, 48, 12), level=1),
        shape("b", box(28, 12, 32, 16), level=2),
    ]
    out = EqualizeWidth()(artwork(shapes, [LABEL], shares=(1.0, 0.9)), ROOMY)
    first, second = gains(out)
    assert first.startswith("shortest return time of fronds-1: 60 ms")
    assert second.startswith("shortest return time of fronds-2: 8.44 ms")


def test_without_a_speed_the_gain_is_not_known_and_a_limit_is_refused():
    art = with_settings(artwork([shape("a", TULIP)], [LABEL]), speed=None)
    out = EqualizeWidth()(art, ROOMY)
    (unknown,) = (f for f in out.findings if f.code == "return-times-unknown")
    assert "add speed:" in unknown.remedy
    assert not gains(out)
    with pytest.raises(Refusal, match="has no speed"):
        EqualizeWidth(quicker_than=30e-3)(art, ROOMY)


def test_a_single_row_gains_nothing_and_the_bars_are_counted():
    out = EqualizeWidth()(artwork([shape("a", box(20, 10, 30, 10.1))], [LABEL]), ROOMY)
    # one row at 900 mm/s, 35.2003 mm longer
    assert gains(out) == ["fronds: 0 of 1 rows gain time; the bars add 0.0391 s"]


def test_what_was_assumed_of_the_machine_is_said():
    out = EqualizeWidth()(artwork([shape("a", TULIP)], [LABEL]), Bench())
    assert "assumed: a turnaround of 1.2 ms, dark moves at the speed of the rows" in gains(out)[0]
