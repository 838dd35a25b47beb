"""Lines that an interleaved job should meet."""

from dataclasses import replace

import pytest

from preprocess.advice.lines import MANY_COLOURS, TWO_COLOURS, line_of, meets_a_line
from preprocess.marking.evenness.objective import EvennessFigures, Objective

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
