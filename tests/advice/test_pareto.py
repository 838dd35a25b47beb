"""Which ways no other beats, by hand."""

from dataclasses import replace

from preprocess.advice.pareto import WayFigures, is_dominated, pareto_front

PLAIN = WayFigures(
    too_weak=0.0,
    too_heavy=0.0,
    median=1.0,
    variation=0.05,
    rows=1.1,
    margin=0.1,
    time=10.0,
    layers=2,
)


def test_outside_counts_before_evenness_before_time_before_layers():
    uneven = replace(PLAIN, variation=0.08)
    outside = replace(PLAIN, too_weak=0.03, too_heavy=0.02)
    slow = replace(PLAIN, time=20.0)
    many = replace(PLAIN, layers=5)
    order = sorted([outside, uneven, slow, many, PLAIN], key=lambda one: one.key)
    assert order == [PLAIN, many, slow, uneven, outside]


def test_what_is_worse_in_one_thing_and_better_in_none_is_beaten():
    assert is_dominated(replace(PLAIN, time=20.0), [PLAIN])
    assert not is_dominated(replace(PLAIN, time=20.0, layers=1), [PLAIN])
    assert not is_dominated(PLAIN, [PLAIN, PLAIN])


def test_differences_that_mean_nothing_do_not_count():
    same = replace(PLAIN, too_weak=0.004, variation=0.0512, time=10.05)
    assert same.key == PLAIN.key
    assert replace(PLAIN, too_weak=0.009).key == PLAIN.key
    assert replace(PLAIN, too_weak=0.016).key > PLAIN.key


def test_the_front_holds_each_trade_best_first():
    quick = replace(PLAIN, variation=0.09, time=4.0)
    even = replace(PLAIN, variation=0.02, time=40.0)
    useless = replace(PLAIN, variation=0.10, time=41.0)
    assert pareto_front([quick, useless, PLAIN, even]) == [3, 2, 0]
