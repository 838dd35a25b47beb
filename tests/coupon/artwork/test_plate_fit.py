"""Coupons that are too large for plate or field are refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.errors import Refusal
from tests.coupon.benches import BENCH, MACHINE, made


def test_a_plate_that_would_do_does_and_a_smaller_one_does_not() -> None:
    with pytest.raises(
        Refusal, match=r"needs 42\.9 × 38\.9 mm, but only 40 × 30 mm are free"
    ) as told:
        made("row-span", plate=(40.0, 30.0))
    assert told.value.remedy.endswith("keep all layers and the lengths 3 mm, 1 mm, which would fit")
    made("row-span", plate=(40.0, 30.0), lengths=(3.0, 1.0))
    made("row-span", plate=(43.0, 39.0))
    with pytest.raises(Refusal):
        made("row-span", plate=(43.0, 38.8))
    with pytest.raises(Refusal, match="not even one cell"):
        made("row-span", plate=(4.0, 4.0))


def test_the_field_and_the_part_of_it_count_too() -> None:
    with pytest.raises(Refusal, match="are free"):
        made("row-span", plate=(80.0, 60.0), room=(30.0, 30.0))
    small = replace(BENCH, machine=replace(MACHINE, field=(35.0, 90.0)))
    with pytest.raises(Refusal, match="are free"):
        made("row-span", small)
    narrow = replace(BENCH, machine=replace(MACHINE, field=(62.0, 90.0)))
    with pytest.raises(Refusal, match=r"with its bars this coupon is 67\.2 mm wide"):
        made("bar-distance", narrow)
