"""Parts whose heat is known, of which `made_corrections` and `corrected_parts` judge more."""

import numpy as np
import pytest

from tests.corrected_parts import TRUE
from tests.corrected_parts import corrected as corrected_part
from tests.made_corrections import corrected


def test_one_correction_row_by_row_takes_most_of_the_unevenness_away():
    before, after = corrected("waist", 300, None)
    assert before > 0.04
    assert after < 0.4 * before


def test_a_file_in_four_colours_is_solved_for_the_spread_of_the_part():
    one = corrected_part("block with a tail", "four colours by heat", 301)
    assert one.before > 0.04
    assert one.after < 0.5 * one.before
    assert np.log(one.told.learned.shown / TRUE) == pytest.approx(0, abs=0.3)
