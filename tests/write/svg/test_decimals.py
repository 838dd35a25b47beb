from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.write.svg.decimals import decimal_text, decimal_texts

DECIMALS = st.integers(1, 6)
PLAIN = re.compile(r"-?(0|[1-9]\d*)(\.\d*[1-9])?\Z")


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (0.0, 4, "0"),
        (-0.0, 4, "0"),
        (-0.00004, 4, "0"),
        (1.0, 4, "1"),
        (100.0, 1, "100"),
        (0.1 + 0.2, 4, "0.3"),
        (-12.3450, 4, "-12.345"),
        (1e-7, 6, "0"),
        (123456789.25, 2, "123456789.25"),
        (1e15, 1, "1000000000000000"),
        (10.0, 0, "10"),
    ],
)
def test_examples(value, decimals, text):
    assert decimal_text(value, decimals) == text


@given(st.floats(-1e9, 1e9), DECIMALS)
def test_text_is_a_plain_number_near_the_value(value, decimals):
    text = decimal_text(value, decimals)
    assert PLAIN.match(text)
    assert text != "-0"
    assert abs(float(text) - value) <= 0.5 * 10.0**-decimals * (1 + 1e-9) + abs(value) * 1e-15


@given(st.integers(-(10**9), 10**9), DECIMALS)
def test_numbers_on_the_grid_come_back(steps, decimals):
    value = steps / 10**decimals
    assert float(decimal_text(value, decimals)) == value


@given(st.floats(-1e6, 1e6), DECIMALS)
def test_writing_twice_changes_nothing(value, decimals):
    once = decimal_text(value, decimals)
    assert decimal_text(float(once), decimals) == once


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="cannot stand in an SVG"):
        decimal_text(value, 4)


@given(st.lists(st.floats(-1e9, 1e9) | st.sampled_from([0.0, -0.0, -1e-9, 1e300, 10.0])), DECIMALS)
def test_many_numbers_are_written_like_one(values, decimals):
    assert decimal_texts(values, decimals) == [decimal_text(value, decimals) for value in values]


def test_many_whole_numbers_keep_their_noughts():
    assert decimal_texts([0.0, -0.2, 10.0, 100.4, -300.0], 0) == ["0", "0", "10", "100", "-300"]


@pytest.mark.parametrize("strange", [float("nan"), float("inf"), -float("inf")])
def test_one_strange_number_among_many_is_refused(strange):
    with pytest.raises(ValueError, match="cannot stand in an SVG"):
        decimal_texts([1.0, strange, 2.0], 4)
