"""One part whose heat is known; ``python -m tests.made_corrections 6 300`` judges six."""

from tests.made_corrections import corrected


def test_one_correction_row_by_row_takes_most_of_the_unevenness_away():
    before, after = corrected("waist", 300, None)
    assert before > 0.04
    assert after < 0.4 * before
