"""The objective, against figures worked out by hand on small fields of the heat index."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.evenness.objective import evenness_objective, objective_pair
from preprocess.marking.evenness.seam import step_between_outputs
from preprocess.marking.heat.index import HeatIndex
from preprocess.marking.heat.index_images import IndexImage
from preprocess.model.bench.filament import Window

STEP, PITCH = 0.2, 0.1
"""A cell is 0.02 mm²: 25 of them make a place of 0.5 mm²."""


def image(index, *, first=0.0, pitch=PITCH, part=None, at_spreads=None, share=1.0, **more):
    index = np.asarray(index, float)
    lit = np.isfinite(index)
    rows, columns = index.shape
    return IndexImage(
        **{"step": 0, "output": "bed", "angle": 0.0} | more,
        part=part,
        v=first + pitch * np.arange(rows),
        u=STEP * (np.arange(columns) + 0.5),
        lit=lit,
        index=index,
        spike=index,
        residual=index,
        cell=pitch * STEP,
        share=np.full(lit.shape, share, np.float32),
        at_spreads=at_spreads,
    )


def heat(*images, calibrated=False):
    return HeatIndex(images=images, window=Window(), calibrated=calibrated, assumed=())


def judged(*images, **more):
    return evenness_objective(heat(*images, **more), time=8.3, layers=4)


def field(rows=40, columns=50, value=1.0):
    return np.full((rows, columns), value)


def test_an_even_field_has_nothing_to_find():
    found = judged(image(field(value=1.7))).likely
    assert (found.hot, found.cold, found.beyond, found.seam) == pytest.approx((1, 1, 0, 0))
    assert found.off == pytest.approx(0)


def test_the_worst_place_is_the_mean_of_half_a_square_millimetre():
    index = field()
    index[10:15, 20:23] = 1.5  # 15 cells of 25; the other ten are at the median
    index[30:35, 30:35] = 0.8  # 25 cells: the whole place
    found = judged(image(index)).likely
    assert found.hot == pytest.approx((15 * 1.5 + 10) / 25)
    assert found.cold == pytest.approx(0.8)
    assert found.beyond == pytest.approx(40 / 2000)


def test_hot_cells_that_do_not_touch_make_no_common_place():
    index = field()
    index[5:8, 5:9] = 1.5  # 12 cells
    index[30:33, 30:34] = 1.5  # 12 others, far away
    assert judged(image(index)).likely.hot == pytest.approx((12 * 1.5 + 13) / 25)


def test_an_island_smaller_than_a_place_counts_as_far_as_it_goes():
    index = np.full((40, 50), np.nan)
    index[:30] = 1.0
    index[35:37, 10:15] = 1.4  # ten cells, 0.2 mm², of the 0.3 mm² that an island must fill
    assert judged(image(index)).likely.hot == pytest.approx((10 * 1.4 + 5) / 15)


def test_first_rows_count():
    index = field()
    index[0] = 0.7
    cold = judged(image(index)).likely.cold
    assert cold == pytest.approx(0.7)


def test_a_seam_is_the_step_from_three_rows_to_the_next_three():
    index = field()
    index[20:] = 1.1
    found = judged(image(index)).likely
    # rows 17-19 against 20-22; a place of the field's 35 such borders in each column of 1 mm
    assert found.seam == pytest.approx(0.1)


def test_steps_between_levels_are_those_of_three_rows_on_either_side():
    """1.0, 1.0, 1.03 above the border, and 1.1 below it; 1.5 farther away is none of theirs."""
    index = field(rows=20)
    index[19] = 1.03
    other = field(rows=20, value=1.1)
    other[10:] = 1.5
    two = image(index, output="bed-1"), image(other, first=2.0, output="bed-2", step=1)
    found = step_between_outputs(heat(*two), ["bed-1", "bed-2"])
    assert found == pytest.approx(1.1 / (3.03 / 3) - 1)
    assert step_between_outputs(heat(*two), ["bed-2"]) == 0
    assert step_between_outputs(heat(*two), ["leaf"]) == 0


def test_a_gentle_slope_is_no_seam():
    index = field() * np.linspace(1.0, 1.04, 40)[:, None]
    assert judged(image(index)).likely.seam < 0.0035


def test_cells_are_weighed_by_what_is_lit():
    index = field()
    index[:, 25:] = 1.3
    share = np.ones(index.shape)
    share[:, 25:] = 0.25
    found = judged(image(index, share=share)).likely
    assert found.beyond == pytest.approx(0.25 / 1.25)


def test_runs_too_short_to_be_seen_count_as_the_median():
    index = np.full((40, 50), np.nan)
    index[:, :20] = 1.0
    index[:, 30] = 0.3
    share = np.ones(index.shape)
    share[:, 30] = 0.1  # 0.02 mm long, alone in their rows
    found = judged(image(index, share=share)).likely
    assert (found.cold, found.beyond) == pytest.approx((1.0, 0.0))


def test_where_rows_of_two_shapes_meet_the_largest_counts_once():
    other = np.full((40, 50), np.nan)
    other[30:] = 1.2
    found = judged(image(field()), image(other, first=0.03, step=1)).likely
    assert found.beyond == pytest.approx(10 / 40)
    assert found.hot == pytest.approx(1.2)


def test_a_colour_for_every_fourth_row_does_not_count_four_times():
    rounds = [
        image(field(10), first=PITCH * n, pitch=4 * PITCH, output=f"bed-{n}", step=n)
        for n in range(4)
    ]
    once = np.full((40, 50), np.nan)
    once[:, :10] = 1.2
    beside = image(once, first=5.0, output="edge", step=9)
    found = judged(*rounds, beside).likely
    assert found.beyond == pytest.approx(400 / 2400)


def test_rounds_are_neighbours_of_one_another():
    rounds = [
        image(field(10, value=value), first=PITCH * n, pitch=4 * PITCH, step=n)
        for n, value in enumerate((0.9, 1.0, 1.1, 1.0))
    ]
    found = judged(*rounds).likely
    # greedy growth prefers the hot rows, but to come from one to another it takes cold ones
    assert 1.0 < found.hot <= 1.1
    assert found.seam < 0.1


def test_worst_is_taken_figure_by_figure_over_the_spreads():
    likely, small, wide = field(), field(), field()
    small[:5, :5] = 0.8
    wide[20:25, 20:25] = 1.6
    found = judged(image(likely, at_spreads=np.stack([likely, small, wide])))
    assert (found.likely.hot, found.likely.cold) == pytest.approx((1, 1))
    assert (found.worst.hot, found.worst.cold) == pytest.approx((1.6, 0.8))


def test_only_a_graded_filament_has_a_window():
    index = field(value=1.1)
    index[:10] = 1.25
    assert judged(image(index)).likely.outside is None
    assert judged(image(index), calibrated=True).likely.outside == pytest.approx(0.25)


def test_parts_do_not_touch():
    cold = field(4, 5, 0.5)
    whole = judged(image(field(), part=0), image(cold, first=4.0, part=1)).likely
    assert whole.cold == pytest.approx(0.5)
    assert whole.hot == pytest.approx(1.0)


def test_before_and_after_speak_of_the_area_that_both_mark():
    before, after = field(), field()
    before[:10] = 1.4
    after[:10] = np.nan
    was, now = objective_pair(
        heat(image(before)), heat(image(after)), times=(9.0, 8.0), layers=(1, 4)
    )
    # squares beside the border count as shared: two rows of ten stay
    assert was.likely.beyond == pytest.approx(4 / 34, abs=0.06)
    assert (was.time, now.time, now.layers) == (9.0, 8.0, 4)


def test_ranking_goes_by_the_worst_place_before_the_time():
    index = field()
    index[10:15, 20:25] = 1.2
    uneven = evenness_objective(heat(image(index)), time=1.0, layers=1)
    even = judged(image(field()))
    assert even.key < uneven.key
    assert even.more_even_than(uneven)
    assert not uneven.more_even_than(even)
    assert not even.more_even_than(even)


def test_nothing_lit_has_no_objective():
    assert judged(image([[np.nan]])) is None
