"""Units: factors checked against figures worked out by hand, and properties over all quantities."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.units import (
    ACCELERATION,
    ANGLE,
    CONDUCTIVITY,
    DATA_SIZE,
    DENSITY,
    HEAT_CAPACITY,
    LENGTH,
    PITCH,
    POWER,
    QUANTITIES,
    SHARE,
    SPEED,
    TIME,
    UnitError,
    digits,
    fixed,
    place_text,
    signed,
)

quantities = st.sampled_from(QUANTITIES)
numbers = st.floats(min_value=0.1, max_value=99.0).map(lambda x: float(f"{x:.5g}"))


@pytest.mark.parametrize(
    ("quantity", "text", "value"),
    [
        (LENGTH, "0.2 mm", 0.2),
        (LENGTH, "0.2mm", 0.2),
        (LENGTH, "  +1.5   cm ", 15.0),
        (LENGTH, "1 in", 25.4),
        (LENGTH, "60 um", 0.06),
        (LENGTH, "60 µm", 0.06),  # micro sign
        (LENGTH, "60 μm", 0.06),  # Greek mu
        (LENGTH, "-.5 mm", -0.5),
        (LENGTH, "1e-3 m", 1.0),
        (PITCH, "254 lines/in", 0.1),
        (PITCH, "10 lines/mm", 0.1),
        (PITCH, "100 lines/cm", 0.254 * 10 / 25.4),
        (PITCH, "0.1 mm", 0.1),
        (SPEED, "60 mm/min", 1.0),
        (SPEED, "6 m/min", 100.0),
        (SPEED, "1 in/s", 25.4),
        (SHARE, "55 %", 0.55),
        (SHARE, "100%", 1.0),
        (ANGLE, "45°", 45.0),
        (ANGLE, "3.141592653589793 rad", 180.0),
        (TIME, "1.2 ms", 0.0012),
        (TIME, "2 min", 120.0),
        (POWER, "3 W", 3.0),
        (POWER, "500 mW", 0.5),
        (ACCELERATION, "4 m/s2", 4000.0),
        (CONDUCTIVITY, "0.2 W/m/K", 0.2),
        (DENSITY, "1270 kg/m³", 1.27),
        (HEAT_CAPACITY, "1300 J/kg/K", 1.3),
    ],
)
def test_known_figures(quantity, text, value):
    assert quantity.parse(text) == pytest.approx(value, rel=1e-12)


@given(
    st.integers(1, 10_000),
    st.sampled_from([(SHARE, "%", 100), (SPEED, "mm/s", 1), (TIME, "ms", 1000)]),
)
def test_a_decimal_is_the_very_number_that_one_would_type(count, unit):
    quantity, name, per_base = unit
    assert quantity.parse(f"{count} {name}") == float(Fraction(count, per_base))


def test_one_pitch_in_two_spellings_is_the_same_number():
    assert PITCH.parse("254 lines/in") == PITCH.parse("0.1 mm") == 0.1


@given(quantities, numbers)
def test_text_is_read_back_to_six_digits(quantity, value):
    assert quantity.parse(quantity.text(value)) == pytest.approx(value, rel=1e-5)


@given(quantities, st.one_of(st.integers(), st.floats(allow_nan=False, allow_infinity=False)))
def test_a_bare_number_is_refused_however_it_is_held(quantity, number):
    for held in (number, str(number), f" {number} "):
        with pytest.raises(UnitError, match="unit"):
            quantity.parse(held)


@given(quantities, numbers)
def test_the_example_in_a_message_can_be_copied(quantity, number):
    with pytest.raises(UnitError) as refused:
        quantity.parse(number)
    suggestion = str(refused.value).partition("write for example ")[2]
    assert quantity.parse(suggestion) == quantity.parse(f"{number} {quantity.base}")


@given(st.text(max_size=12))
def test_any_text_gives_a_finite_number_or_a_sentence(text):
    try:
        value = LENGTH.parse(text)
    except UnitError as error:
        assert "mm" in str(error) or "large" in str(error)  # noqa: PT017 - either way is right
    else:
        assert math.isfinite(value)


UNITS = {
    LENGTH: "mm 1, cm 10, m 1000, um 0.001, µm 0.001, μm 0.001, in 25.4",
    PITCH: "mm 1, cm 10, m 1000, um 0.001, µm 0.001, μm 0.001, in 25.4, lines/in 25.4, "
    "lines/mm 1, lines/cm 10",
    SPEED: "mm/s 1, mm/min 1/60, m/s 1000, m/min 50/3, in/s 25.4, in/min 127/300",
    SHARE: "% 0.01",
    ANGLE: "deg 1, ° 1",
    TIME: "s 1, ms 0.001, us 0.000001, µs 0.000001, μs 0.000001, min 60",
    POWER: "W 1, mW 0.001, kW 1000",
    ACCELERATION: "mm/s2 1, mm/s² 1, m/s2 1000, m/s² 1000",
    CONDUCTIVITY: "W/m/K 1, W/mm/K 1000",
    DENSITY: "g/cm3 1, g/cm³ 1, kg/m3 0.001, kg/m³ 0.001",
    HEAT_CAPACITY: "J/g/K 1, J/kg/K 0.001, kJ/kg/K 1",
    DATA_SIZE: "MiB 1048576, GiB 1073741824, KiB 1024, MB 1000000, GB 1000000000, kB 1000, B 1",
}
"""What one of each unit is in base units: SI prefixes, 25.4 mm to the inch, 60 s to the minute."""


@pytest.mark.parametrize("quantity", UNITS, ids=lambda quantity: quantity.name)
def test_every_unit(quantity):
    table = dict(entry.rsplit(" ", 1) for entry in UNITS[quantity].split(", "))
    names = {*quantity.units, *(quantity.inverse or ())} - {"rad"}
    assert set(table) == names
    for name, value in table.items():
        assert quantity.parse(f"1 {name}") == pytest.approx(float(Fraction(value)), rel=1e-14)


ENDS = {
    LENGTH: (0, 1e5), PITCH: (1e-3, 1e3), SPEED: (1e-3, 1e5), SHARE: (1e-6, 1e4),
    ANGLE: (1e-9, 1e6), TIME: (1e-9, 1e5), POWER: (1e-6, 1e5), ACCELERATION: (1e-3, 1e9),
    CONDUCTIVITY: (1e-4, 1e4), DENSITY: (1e-4, 100), HEAT_CAPACITY: (1e-3, 1e3),
    DATA_SIZE: (0, 1e15),
}  # fmt: skip


@pytest.mark.parametrize("quantity", ENDS, ids=lambda quantity: quantity.name)
def test_what_lies_beyond_the_ends(quantity):
    """100 m, 1 µm to 1 m between rows, 100 m/s, and so on; nothing else in this file says so."""
    least, most = ENDS[quantity]
    base = quantity.units[quantity.base]
    for sign in ("", "-"):
        assert abs(quantity.parse(f"{sign}{most / base:.17g} {quantity.base}")) == most
        with pytest.raises(UnitError, match="too large"):
            quantity.parse(f"{sign}{most / base * (1 + 1e-10):.17g} {quantity.base}")
    if least:
        assert quantity.parse(f"{least / base:.17g} {quantity.base}") == least
        with pytest.raises(UnitError, match="too small"):
            quantity.parse(f"{least / base * (1 - 1e-10):.17g} {quantity.base}")
    else:
        assert quantity.parse(f"1e-300 {quantity.base}") > 0


@pytest.mark.parametrize(
    ("quantity", "text", "said"),
    [
        (PITCH, "0.9 um", "'0.9 um' is too small for a pitch; the least is 0.001 mm"),
        (PITCH, "1e-320 mm", "'1e-320 mm' is too small for a pitch; the least is 0.001 mm"),
        (
            PITCH,
            "30000 lines/in",
            "'30000 lines/in' is too small for a pitch; the least is 0.001 mm",
        ),
        (PITCH, "1.1 m", "'1.1 m' is too large for a pitch; the most is 1000 mm"),
        (SPEED, "0.0009 mm/s", "'0.0009 mm/s' is too small for a speed; the least is 0.001 mm/s"),
        (SPEED, "110 m/s", "'110 m/s' is too large for a speed; the most is 100000 mm/s"),
        (LENGTH, "-101 m", "'-101 m' is too large for a length; the most is 100000 mm"),
        (LENGTH, "1e999 mm", "'1e999 mm' is too large for a length; the most is 100000 mm"),
        (SHARE, "0.00009 %", "'0.00009 %' is too small for a share; the least is 0.0001 %"),
        (TIME, "12 day", "'day' is no unit of time; known units: s, ms, us, µs, min"),
        (TIME, "20000 min", "'20000 min' is too large for a time; the most is 100000 s"),
    ],
)
def test_beyond_all_measure(quantity, text, said):
    with pytest.raises(UnitError) as refused:
        quantity.parse(text)
    assert str(refused.value) == said


@given(quantities)
def test_the_ends_themselves_and_nothing_are_right(quantity):
    for value in (0.0, quantity.least, quantity.most, -quantity.most):
        assert quantity.parse(quantity.text(value)) == pytest.approx(value, rel=1e-5)


@given(quantities)
def test_every_example_is_a_quantity(quantity):
    assert quantity.parse(quantity.example) > 0


@pytest.mark.parametrize("held", [True, False, None, [], {}, ["1 mm"]])
def test_what_is_no_number_is_refused(held):
    with pytest.raises(UnitError, match="a number with a unit"):
        LENGTH.parse(held)


@pytest.mark.parametrize(
    ("quantity", "text", "sentence"),
    [
        (LENGTH, "0,2 mm", "'0,2 mm' has a decimal comma; write a point, for example 0.2 mm"),
        (LENGTH, "2 mmm", "'mmm' is no unit of length; did you mean mm?"),
        (LENGTH, "2 mn", "'mn' is no unit of length; did you mean mm?"),
        (LENGTH, "2 cn", "'cn' is no unit of length; did you mean cm?"),
        (SPEED, "9 mn/s", "'mn/s' is no unit of speed; did you mean mm/s?"),
        (LENGTH, "3 deg", "'deg' is no unit of length; known units: mm, cm, m, um, µm, in"),
        (SPEED, "9 %", "'%' is no unit of speed; known units: "),
        (LENGTH, "wide", "'wide' is not a length; write for example 0.2 mm"),
        (ANGLE, "steep", "'steep' is not an angle; write for example 45 deg"),
        (ANGLE, "45", "45 has no unit; write for example 45 deg"),
        (LENGTH, "", "'' is not a length"),
        (LENGTH, "1e400 mm", "'1e400 mm' is too large for a length; the most is 100000 mm"),
        (LENGTH, "nan mm", "'nan mm' is not a length"),
        (LENGTH, "inf mm", "'inf mm' is not a length"),
        (LENGTH, "1 2 mm", "'2 mm' is no unit of length"),
        (PITCH, "0 lines/in", "0 lines/in is no pitch"),
        (LENGTH, "254 lines/in", "'lines/in' is no unit of length"),
    ],
)
def test_refusals_say_what_to_write(quantity, text, sentence):
    with pytest.raises(UnitError) as refused:
        quantity.parse(text)
    assert str(refused.value).startswith(sentence)


@pytest.mark.parametrize(
    ("value", "most", "text"),
    [
        (1305.0, 3, "1300"),  # as :.3g it would be 1.3e+03
        (1305.0, 6, "1305"),
        (123456789.0, 6, "123457000"),
        (0.00002, 6, "0.00002"),
        (0.000123456, 2, "0.00012"),
        (0.25, 6, "0.25"),
        (-4e-7, 6, "−0.0000004"),
        (0.0, 3, "0"),
        (99.96, 3, "100"),
    ],
)
def test_numbers_for_people_have_no_exponent(value, most, text):
    assert digits(value, most) == text


def test_a_quantity_is_written_without_exponent_and_read_back():
    assert LENGTH.text(0.00002) == "0.00002 mm"
    assert LENGTH.parse(LENGTH.text(0.00002)) == 0.00002


def test_a_minus_for_people_is_no_hyphen_and_one_to_type_is():
    assert digits(-16.0) == "−16"
    assert fixed(-16.04) == "−16.0"
    assert fixed(-0.04) == "0.0"
    assert [signed(value) for value in (1.26, -1.26, 0.04, -0.04)] == ["+1.3", "−1.3", "0.0", "0.0"]
    assert place_text((12.0, -3.456), 2) == "12.00, −3.46 mm"
    assert ANGLE.text(-30) == "-30 deg"
    assert ANGLE.parse(ANGLE.text(-30)) == -30


def test_no_place_is_written_by_hand():
    """A place may lie left of the page or above it; ``place_text`` writes its minus."""
    source = Path(__file__).parents[1] / "preprocess"
    by_hand = re.compile(r"\{-?[\w.]*\b(x|y|spot\[\d\])[^{}]*:\.\df\}, \{")
    found = [
        str(path.relative_to(source))
        for path in sorted(source.rglob("*.py"))
        if by_hand.search(path.read_text("utf-8"))
    ]
    assert found == []


def test_no_text_can_get_an_exponent():
    """Formats by significant digits turn to exponents; ``digits`` stands for them in all texts."""
    source = Path(__file__).parents[1] / "preprocess"
    found = [
        f"{path.relative_to(source)}:{number}"
        for path in sorted(source.rglob("*.py"))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if re.search(r":(\.\d+)?[ge]\}", line) and "float(f" not in line
    ]
    assert found == []
