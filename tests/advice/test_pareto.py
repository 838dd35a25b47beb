"""Ways that another beats in every figure are left out."""

from preprocess.advice.pareto import is_dominated, pareto_front

EVEN, QUICK, POOR = (0.03, 0.1, 40.0, 4), (0.3, 0.6, 20.0, 1), (0.3, 0.6, 45.0, 4)


def test_the_front_is_what_nothing_beats_best_first():
    assert pareto_front([QUICK, POOR, EVEN]) == [2, 0]


def test_equal_ways_do_not_beat_one_another():
    assert not is_dominated(EVEN, [EVEN, QUICK])
    assert is_dominated(POOR, [QUICK])
