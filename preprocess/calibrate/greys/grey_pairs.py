"""Pairs of a grey-steps coupon: which square of known power each grey looks equal to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.calibrate.grades.answer_rows import (
    answer_rows,
    definition_of_kind,
    has_answer_column,
)
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.dimensions import LAYER_LETTERS
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.file_names import definitions_beside
from preprocess.coupon.paper.grade_columns import CELL, COUPON, EQUALS
from preprocess.errors import Complaint, UserError, wrong

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from preprocess.coupon.design.model import Coupon, CouponDefinition
    from preprocess.errors import Place

_UNMARKED = frozenset({"-", "–", "−", "none"})


@dataclass(frozen=True, slots=True)
class GreyPair:
    """A grey (0 is black), the power it looks equal to (a share), and how far that may be off.

    `within` is half of the distance in which the answer would be the same, a share of the rated
    power.
    """

    grey: int
    power: float
    within: float


def is_grey_table(path: Path) -> bool:
    """Test whether a table is that of a grey-steps coupon, by its first row."""
    return has_answer_column(path, EQUALS)


def read_pairs(path: Path) -> tuple[GreyPair, ...]:
    """Read the table of a grey-steps coupon; its definition lies beside it.

    Raises:
        UserError: every complaint at once, each with file, row and column.
    """
    known = definitions_beside(path)
    complaints: list[Complaint] = []
    found: list[GreyPair] = []
    built: dict[str, tuple[Coupon, CouponDefinition] | None] = {}
    for fields, place in answer_rows(path):
        try:
            found += _pair(fields, known, built, place)
        except UserError as error:
            complaints += error.complaints
    if complaints:
        raise UserError(complaints)
    return tuple(found)


def _pair(
    fields: Mapping[str, str],
    known: Mapping[str, CouponDefinition],
    built: dict[str, tuple[Coupon, CouponDefinition] | None],
    place: Place,
) -> Iterator[GreyPair]:
    name = fields.get(COUPON, "")
    definition = definition_of_kind(CouponKind.GREY_STEPS, name, known, place)
    if built.get(name) is None:
        built[name] = (build(definition), definition)
    held = built[name]
    assert held is not None  # noqa: S101 - just put there
    cells = {cell.name: cell for cell in held[0].cells}
    cell = cells.get(fields.get(CELL, ""))
    if cell is None:
        found = f"{name} has no square {fields.get(CELL, '')!r}"
        raise wrong(found, f"its squares are {', '.join(cells)}", place=place)
    answer = fields.get(EQUALS, "")
    if answer and answer.lower() not in _UNMARKED:
        powers = [settings.power or 0.0 for settings in definition.settings]
        yield _answered(int(cell.extra["grey"]), answer, powers, place)


def _answered(grey: int, answer: str, powers: Sequence[float], place: Place) -> GreyPair:
    """The pair that an answer means: a letter, or two neighbours for between them."""
    letters = [one for one in answer.upper() if one.isalnum()]
    there = LAYER_LETTERS[: len(powers)]
    numbers = [there.find(one) for one in letters]
    beside = sorted(numbers)
    between = len(numbers) == 2 and beside[1] - beside[0] == 1  # noqa: PLR2004 - two letters
    if not numbers or -1 in numbers or not (len(numbers) == 1 or between):
        remedy = f"write one of {', '.join(there)}, or two neighbours such as AB for between them"
        raise UserError(Complaint(f"equals: {answer!r} names no square", remedy, place))
    if between:
        low, high = (powers[n] for n in beside)
        return GreyPair(grey, (low + high) / 2, (high - low) / 4)
    number = numbers[0]
    near = [
        abs(powers[n] - powers[number]) for n in (number - 1, number + 1) if 0 <= n < len(powers)
    ]
    return GreyPair(grey, powers[number], sum(near) / len(near) / 2 if near else powers[number] / 4)
