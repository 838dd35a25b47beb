"""The only unit parser: "0.2 mm", "35 %", "300 mm/s", "254 lines/in" become typed numbers.

Every quantity has one base unit, in which the rest of the program holds it as a plain float.
A bare number is refused: a person may have meant another unit than we would assume.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches
from typing import TYPE_CHECKING, Annotated

if TYPE_CHECKING:
    from collections.abc import Mapping

_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*(\S.*?)?\s*\Z")
_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d+,\d")


def digits(value: float, most: int = 6) -> str:
    """A number for people, rounded to so many significant digits, never with an exponent."""
    return typed_digits(value, most).replace("-", "−")


def typed_digits(value: float, most: int = 6) -> str:
    """A number as one types it into a recipe: as `digits`, but its minus is a hyphen."""
    text = f"{value:.{most}g}"
    return format(Decimal(text), "f") if "e" in text else text


def fixed(value: float, decimals: int = 1) -> str:
    """A number for people with so many decimals; there is no minus nought."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


def signed(value: float, decimals: int = 1) -> str:
    """A change for people with so many decimals, such as +0.5, −1.2 or 0.0."""
    return f"{'+' if round(value, decimals) > 0 else ''}{fixed(value, decimals)}"


def place_text(point: tuple[float, float], decimals: int = 1) -> str:
    """A place on the page for people, such as "12.0, −3.5 mm"."""
    x, y = point
    return f"{fixed(x, decimals)}, {fixed(y, decimals)} mm"


class UnitError(ValueError):
    """A text that is no quantity of the wanted kind; `remedy` says what to write."""

    def __init__(self, found: str, remedy: str) -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(f"{found}; {remedy}")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of quantity: its units as factors to the base unit, and an example to show.

    `inverse` units count things per length ("lines/in"); their value is base = factor / number.
    What is not 0 lies between `least` and `most`, in base units: what is beyond is a slip of the
    pen, and would make work without end.
    """

    name: str
    base: str
    units: Mapping[str, float] = field(hash=False)
    example: str
    least: float
    most: float
    inverse: Mapping[str, float] | None = field(default=None, hash=False)

    def parse(self, text: object) -> float:
        """Turn a text such as "0.2 mm" into a number of base units.

        Raises:
            UnitError: bare number, unknown unit, beyond all measure, or not a quantity at all.
        """
        show = f"write for example {self.example}"
        if isinstance(text, bool) or not isinstance(text, int | float | str):
            raise UnitError(f"{self._a_name} is a number with a unit", show)
        if _DECIMAL_COMMA.match(str(text)):
            remedy = f"write a point, for example {self.example}"
            raise UnitError(f"{str(text)!r} has a decimal comma", remedy)
        match = _NUMBER.match(str(text))
        if match is None:
            raise UnitError(f"{str(text)!r} is not {self._a_name}", show)
        number, unit = float(match[1]), match[2]
        if unit is None:
            remedy = f"write for example {match[1]} {self.base}"
            raise UnitError(f"{match[1]} has no unit", remedy)
        value = float(f"{self._in_base(number, unit):.15g}")  # 7 % is 0.07, 254 lines/in 0.1 mm
        if not abs(value) <= self.most:
            found, remedy = f"too large for {self._a_name}", f"the most is {self.text(self.most)}"
            raise UnitError(f"{str(text)!r} is {found}", remedy)
        if value and abs(value) < self.least:
            found, remedy = f"too small for {self._a_name}", f"the least is {self.text(self.least)}"
            raise UnitError(f"{str(text)!r} is {found}", remedy)
        return value

    def text(self, value: float) -> str:
        """Write a number of base units with its unit, as one types it."""
        shown = value / self.units[self.base]
        return f"{typed_digits(shown)} {self.base}"

    @property
    def unit_names(self) -> tuple[str, ...]:
        """The units to tell a person; the Greek mu is read too, but looks like the micro sign."""
        return tuple(name for name in (*self.units, *(self.inverse or ())) if "μ" not in name)

    @property
    def _a_name(self) -> str:
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"

    def _in_base(self, number: float, unit: str) -> float:
        if unit in self.units:
            return number * self.units[unit]
        if self.inverse and unit in self.inverse:
            if number == 0:
                raise UnitError(f"0 {unit} is no {self.name}", f"write for example {self.example}")
            return self.inverse[unit] / number
        near = self._nearest(unit)
        hint = f"did you mean {near}?" if near else f"known units: {', '.join(self.unit_names)}"
        raise UnitError(f"{unit!r} is no unit of {self.name}", hint)

    def _nearest(self, unit: str) -> str:
        """The unit that was meant: with one letter wrong, the base unit before others."""
        slips = [
            name
            for name in (self.base, *self.unit_names)
            if 1 < len(name) == len(unit)
            and sum(a != b for a, b in zip(name, unit, strict=True)) == 1
        ]
        near = slips or get_close_matches(unit, self.unit_names, n=1)
        return near[0] if near else ""


_LENGTHS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1e-3, "µm": 1e-3, "μm": 1e-3, "in": 25.4}
_PER_LENGTH = {"lines/in": 25.4, "lines/mm": 1.0, "lines/cm": 10.0}

LENGTH = Quantity("length", "mm", _LENGTHS, "0.2 mm", least=0.0, most=1e5)
PITCH = Quantity("pitch", "mm", _LENGTHS, "0.1 mm", least=1e-3, most=1e3, inverse=_PER_LENGTH)
SPEED = Quantity(
    "speed",
    "mm/s",
    {
        "mm/s": 1.0,
        "mm/min": 1 / 60,
        "m/s": 1000.0,
        "m/min": 1000 / 60,
        "in/s": 25.4,
        "in/min": 25.4 / 60,
    },
    "900 mm/s",
    least=1e-3,
    most=1e5,
)
SHARE = Quantity("share", "%", {"%": 0.01}, "55 %", least=1e-6, most=1e4)
ANGLE = Quantity(
    "angle", "deg", {"deg": 1.0, "°": 1.0, "rad": 180 / math.pi}, "45 deg", least=1e-9, most=1e6
)
TIME = Quantity(
    "time",
    "s",
    {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "min": 60.0},
    "1.2 ms",
    least=1e-9,
    most=1e5,
)
POWER = Quantity("power", "W", {"W": 1.0, "mW": 1e-3, "kW": 1000.0}, "3 W", least=1e-6, most=1e5)
ACCELERATION = Quantity(
    "acceleration",
    "mm/s2",
    {"mm/s2": 1.0, "mm/s²": 1.0, "m/s2": 1000.0, "m/s²": 1000.0},
    "4000 mm/s2",
    least=1e-3,
    most=1e9,
)
CONDUCTIVITY = Quantity(
    "conductivity", "W/m/K", {"W/m/K": 1.0, "W/mm/K": 1000.0}, "0.2 W/m/K", least=1e-4, most=1e4
)
DENSITY = Quantity(
    "density",
    "g/cm3",
    {"g/cm3": 1.0, "g/cm³": 1.0, "kg/m3": 1e-3, "kg/m³": 1e-3},
    "1.27 g/cm3",
    least=1e-4,
    most=100,
)
HEAT_CAPACITY = Quantity(
    "heat capacity",
    "J/g/K",
    {"J/g/K": 1.0, "J/kg/K": 1e-3, "kJ/kg/K": 1.0},
    "1.3 J/g/K",
    least=1e-3,
    most=1e3,
)
DATA_SIZE = Quantity(
    "data size",
    "MiB",
    {"MiB": 2.0**20, "GiB": 2.0**30, "KiB": 1024.0, "MB": 1e6, "GB": 1e9, "kB": 1e3, "B": 1.0},
    "256 MiB",
    least=0.0,
    most=1e15,
)
QUANTITIES = (
    LENGTH,
    PITCH,
    SPEED,
    SHARE,
    ANGLE,
    TIME,
    POWER,
    ACCELERATION,
    CONDUCTIVITY,
    DENSITY,
    HEAT_CAPACITY,
    DATA_SIZE,
)

Length = Annotated[float, LENGTH]
"""A length in mm."""
Pitch = Annotated[float, PITCH]
"""A distance between rows in mm."""
Speed = Annotated[float, SPEED]
"""A speed in mm/s."""
Share = Annotated[float, SHARE]
"""A share; 1.0 is 100 %."""
Angle = Annotated[float, ANGLE]
"""An angle in degrees."""
Time = Annotated[float, TIME]
"""A time in s."""
Power = Annotated[float, POWER]
"""A power in W."""
Acceleration = Annotated[float, ACCELERATION]
"""An acceleration in mm/s²."""
Conductivity = Annotated[float, CONDUCTIVITY]
"""A thermal conductivity in W/m/K."""
Density = Annotated[float, DENSITY]
"""A density in g/cm³."""
HeatCapacity = Annotated[float, HEAT_CAPACITY]
"""A specific heat capacity in J/g/K."""
DataSize = Annotated[float, DATA_SIZE]
"""A size of data in bytes."""
