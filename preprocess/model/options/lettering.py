"""Wording of a drawing's texts: one drawing becomes many labels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import Length, Share


@dataclass(frozen=True, slots=True, kw_only=True)
class TextFit(Declared):
    """Largest width of a text. Wider text is drawn smaller; below `smallest` the run stops."""

    width: Annotated[Length, Gt(0), Doc("largest width of the text on the drawing's page")]
    smallest: Annotated[
        Share, Gt(0), Le(1), Doc("smallest size allowed to fit the width; 100 %: never smaller")
    ] = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Serial(Declared):
    """Numbers that count up, one for each row of the values."""

    from_: Annotated[int, Ge(0), Doc("number of the first row, and of a single run")] = 1
    digits: Annotated[int, Ge(1), Le(12), Doc("least number of digits; zeros fill it up")] = 1
    before: Annotated[str, Doc("text in front of the number")] = ""

    def at(self, row: int) -> str:
        """The text of a row, counted from 0."""
        return f"{self.before}{self.from_ + row:0{self.digits}d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TextRule(Declared):
    """One entry of the recipe's `text:`: wording of one text, by value, column or serial."""

    element: Annotated[
        str, Doc("quoted CSS selector of a text, or of a tspan in it, such as '#plant-name'")
    ]
    value: Annotated[str | None, Doc("its wording, the same on every label")] = None
    column: Annotated[str | None, Doc("column of --values that holds its wording")] = None
    serial: Annotated[Serial | None, Doc("its number, which counts up")] = None
    fit: Annotated[TextFit | None, Doc("largest width of the text")] = None
    optional: Annotated[bool, Doc("accept a drawing without this text")] = False

    def at(self, row: int) -> str | None:
        """Wording in a row, counted from 0; None where it comes from a column."""
        return self.serial.at(row) if self.serial is not None else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One seat of a tray and what its label says; seats without a label are left out.

    Seats and plates are counted from 1, seats row by row from the upper left.
    """

    number: int
    texts: tuple[Lettering, ...]
    plate: int = 1

    @property
    def says(self) -> dict[str, str]:
        """Wording by the selector of the text."""
        return {one.element: one.text for one in self.texts}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """Wording of the texts that a CSS selector chooses."""

    element: str
    text: str
    fit: TextFit | None = None
    optional: bool = False
