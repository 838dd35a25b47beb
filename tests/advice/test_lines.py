"""Lines that an interleaved job should meet."""

from dataclasses import replace

import pytest

from preprocess.advice.lines import MANY_COLOURS, TWO_COLOURS, line_of, meets_a_line, shortfall
from preprocess.advice.rating import RatedWay, rank_of
from preprocess.advice.ways import Way
from preprocess.marking.evenness.objective import EvennessFigures, Objective
from preprocess.passes.interleave.interleave import Form

LIKELY = EvennessFigures(hot=1.035, cold=0.945, beyond=0.0, seam=0.03)
WORST = EvennessFigures(hot=1.1, cold=0.89, beyond=0.01, seam=0.2)
JUST = Objective(likely=LIKELY, worst=WORST, time=8.0, layers=4)


def test_figures_at_the_limit_meet_a_line():
    assert MANY_COLOURS.is_met(JUST)
    assert meets_a_line(JUST, 0.1)


@pytest.mark.parametrize(
    ("which", "change", "words"),
    [
        ("likely", {"hot": 1.046}, "worst place +4.6 % instead of +3.5 %"),
        ("likely", {"cold": 0.94}, "coldest −6.0 % instead of −5.5 %"),
        ("likely", {"seam": 0.05}, "seams 5.0 % instead of 3 %"),
        ("worst", {"hot": 1.26}, "worst place at worst +26.0 % instead of +10.0 %"),
        ("worst", {"cold": 0.8}, "coldest at worst −20.0 % instead of −11.0 %"),
    ],
)
def test_each_figure_that_is_missed_is_told(which, change, words):
    other = replace(JUST, **{which: replace(getattr(JUST, which), **change)})
    assert list(MANY_COLOURS.missed(other)) == [words]


def test_the_line_of_two_colours_is_enough_too():
    even = replace(LIKELY, hot=1.045, cold=0.952, seam=0.04)
    other = replace(JUST, likely=even, worst=replace(WORST, cold=0.87))
    assert TWO_COLOURS.is_met(other)
    assert meets_a_line(other, 0.1)


def test_fine_rows_have_more_rounds_than_colours_and_a_line_of_their_own():
    other = replace(JUST, likely=replace(LIKELY, hot=1.05, cold=0.93, seam=0.05))
    assert line_of(0.05).is_met(other)
    assert not line_of(0.1).is_met(other)


def test_the_shortfall_is_that_of_the_worst_figure_in_whole_limits():
    assert shortfall(JUST, 0.1) == 0
    little = replace(JUST, likely=replace(LIKELY, hot=1.07))  # 7 % for 5 % of two colours
    assert shortfall(little, 0.1) == 0
    hot = replace(JUST, likely=replace(LIKELY, hot=1.13))  # 13 %: 1.6 limits too much
    assert shortfall(hot, 0.1) == 2
    cold = replace(JUST, worst=replace(WORST, cold=0.72))  # 28 % for 14 %
    assert shortfall(cold, 0.1) == 1


def test_what_meets_a_line_comes_before_what_is_more_even_only_at_the_likely_spread():
    """As five rounds and seven of a tray: +2 % and +3 % likely, but +14 % and +6 % at worst."""
    few = replace(JUST, likely=replace(LIKELY, hot=1.02), worst=replace(WORST, hot=1.14))
    many = replace(JUST, likely=replace(LIKELY, hot=1.03), worst=replace(WORST, hot=1.06))
    ways = [
        RatedWay(
            way=Way(form=Form.STRIPS, rounds=rounds),
            objective=found,
            powers=(0.6,),
            median=1.0,
            bound=found.likely,
            spreads=(0.3,),
        )
        for rounds, found in ((5, few), (7, many))
    ]
    assert [one.way.rounds for one in sorted(ways, key=lambda one: rank_of(one, 0.1))] == [7, 5]
