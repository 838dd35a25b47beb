"""What texts of a drawing are to say: one drawing becomes many labels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import Length, Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit(Declared):
    """How wide a text may get. Wider ones are drawn smaller; what is too small then stops."""

    width: Annotated[Length, Gt(0), Doc("widest that the text may be on the drawing's page")]
    smallest: Annotated[
        Share, Gt(0), Le(1), Doc("how small it may be drawn for that; 100 %: never smaller")
    ] = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Serial(Declared):
    """Numbers that count up, one for each row of the values."""

    from_: Annotated[int, Ge(0), Doc("number of the first row, and of a single run")] = 1
    digits: Annotated[int, Ge(1), Le(12), Doc("least digits, filled up with zeros")] = 1
    before: Annotated[str, Doc("text in front of the number")] = ""

    def at(self, row: int) -> str:
        """The text of a row, counted from 0."""
        return f"{self.before}{self.from_ + row:0{self.digits}d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TextRule(Declared):
    """One entry of the recipe's `text:`: what one text says. One of value, column, serial."""

    element: Annotated[
        str, Doc("quoted CSS selector of a text, or of a tspan in it, such as '#plant-name'")
    ]
    value: Annotated[str | None, Doc("what it says, the same on every label")] = None
    column: Annotated[str | None, Doc("column of --values that holds what it says")] = None
    serial: Annotated[Serial | None, Doc("it says a number that counts up")] = None
    fit: Annotated[Fit | None, Doc("how wide it may get")] = None
    optional: Annotated[bool, Doc("a drawing without this text is right too")] = False

    def at(self, row: int) -> str | None:
        """What it says in a row, counted from 0; None where a column says it."""
        return self.serial.at(row) if self.serial is not None else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """What the texts that a CSS selector chooses say."""

    element: str
    text: str
    fit: Fit | None = None
    optional: bool = False
