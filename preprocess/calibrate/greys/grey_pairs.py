"""Pairs of a grey-steps coupon: which square of known power each grey looks equal to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.calibrate.grades.answer_rows import (
    answer_rows,
    definition_of_kind,
    has_answer_column,
)
from preprocess.calibrate.greys.photo_power import photo_powers
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.dimensions import LAYER_LETTERS
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.file_names import definitions_beside
from preprocess.coupon.paper.grade_columns import CELL, COUPON, EQUALS
from preprocess.errors import Complaint, UserError, wrong
from preprocess.photo.measured_file import coupons_beside

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from preprocess.coupon.design.model import Coupon
    from preprocess.errors import Place

_UNMARKED = frozenset({"-", "–", "−", "none"})


@dataclass(frozen=True, slots=True)
class GreyPair:
    """A grey (0 is black), the power it looks equal to (a share), and how far that may be off.

    `within` is half of the distance in which the answer would be the same, a share of the rated
    power. `by_photo` says that a photo told it, not a person.
    """

    grey: int
    power: float
    within: float
    by_photo: bool = False


def is_grey_table(path: Path) -> bool:
    """Test whether a table is that of a grey-steps coupon, by its first row."""
    return has_answer_column(path, EQUALS)


def read_pairs(path: Path) -> tuple[GreyPair, ...]:
    """Read the table of a grey-steps coupon; its definition lies beside it.

    Where a person wrote nothing, what photos told of the coupon counts, if it was measured.

    Raises:
        UserError: every complaint at once, each with file, row and column.
    """
    known, measured = definitions_beside(path), coupons_beside(path)
    complaints: list[Complaint] = []
    found: list[GreyPair] = []
    built: dict[str, tuple[Coupon, dict[str, tuple[float, float]]]] = {}
    for fields, place in answer_rows(path):
        try:
            name = fields.get(COUPON, "")
            definition = definition_of_kind(CouponKind.GREY_STEPS, name, known, place)
            if name not in built:
                coupon = build(definition)
                seen = photo_powers(coupon, measured[name]) if name in measured else {}
                built[name] = coupon, seen
            found += _pair(fields, *built[name], place)
        except UserError as error:
            complaints += error.complaints
    if complaints:
        raise UserError(complaints)
    return tuple(found)


def _pair(
    fields: Mapping[str, str],
    coupon: Coupon,
    seen: Mapping[str, tuple[float, float]],
    place: Place,
) -> Iterator[GreyPair]:
    cells = {cell.name: cell for cell in coupon.cells}
    cell = cells.get(fields.get(CELL, ""))
    if cell is None:
        found = f"{coupon.id} has no square {fields.get(CELL, '')!r}"
        raise wrong(found, f"its squares are {', '.join(cells)}", place=place)
    answer, grey = fields.get(EQUALS, ""), int(cell.extra["grey"])
    if answer:
        if answer.lower() not in _UNMARKED:
            yield _answered(grey, answer, [one.power for one in coupon.beside], place)
    elif cell.name in seen:
        power, sigma = seen[cell.name]
        yield GreyPair(grey, power, sigma * 3**0.5, by_photo=True)


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
