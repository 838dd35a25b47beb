"""Grades that tell nothing are refused in a sentence."""

import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.errors import UserError
from tests.calibrate.fits import graded
from tests.simulated_users import (
    BELIEVED,
)


@pytest.mark.parametrize(
    ("grades", "found", "remedy"),
    [
        ((), "no cell is graded", "grade the cells"),
        (("even",), "only one cell is graded", "at least 4"),
        (("even", None, "weak", "even"), "only 3 cells are graded", "at least 4"),
        (("even",) * 12, "all 12 graded cells are even", "below about 8 % and some above about 75"),
        (("weak",) * 12, "all 12 graded cells are weak", "mark powers above about 75 %"),
        (("molten",) * 12, "all 12 graded cells are molten", "mark powers below about 8 %"),
        (
            # layers A, B, C are 12, 25 and 50 % at one speed
            ("molten", "molten", "even", "heavy", "weak", "weak"),
            "the grades contradict one another",
            "mixed up",
        ),
    ],
)
def test_grades_that_tell_nothing_are_refused_in_a_sentence(grades, found, remedy):
    with pytest.raises(UserError) as caught:
        fit_filament([graded(*grades)], BELIEVED)
    (complaint,) = caught.value.complaints
    assert found in complaint.found
    assert remedy in complaint.remedy
