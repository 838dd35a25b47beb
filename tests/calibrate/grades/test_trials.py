"""Trials are merged, and new grades replace old ones."""

from dataclasses import replace

from preprocess.calibrate.grades.trials import merge_trials
from tests.calibrate.fits import graded


def test_a_coupon_that_is_graded_again_replaces_its_old_grades():
    old, new = graded("weak", "even"), graded("even", "even")
    other = replace(old, coupon="power-speed-1")
    assert merge_trials([old, other], [new]) == ((new, other), ("power-speed-0",))
