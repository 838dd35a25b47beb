"""Parts drawn in five units: each comes out in its true size, is asked about, or is told."""

from __future__ import annotations

from tests.model_units import MM, NAMES, outcomes


def test_no_part_is_read_in_a_wrong_unit_without_a_word() -> None:
    found = outcomes(4, 11)
    assert not [key for key in found if key[2] == "wrong"]
    assert all(found["3MF", unit, "right"] == 4 for unit in MM)
    assert all(found["STL with unit:", unit, "right"] == 4 for unit in NAMES)
    assert found["STL", "millimeter", "right"] == 4
