"""The band of steps that are as sharp as the best one, and the key in_focus that follows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.calibrate.grades.answer_rows import (
    answer_rows,
    definition_of_kind,
    has_answer_column,
)
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.focus_stair import signed_height
from preprocess.coupon.design.model import CouponKind, Sharpness
from preprocess.coupon.paper.file_names import definitions_beside
from preprocess.coupon.paper.grade_columns import CELL, COUPON, SHARPNESS
from preprocess.errors import Complaint, Place, UserError, wrong
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preprocess.coupon.design.model import CouponDefinition

_SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class FocusBand:
    """Lowest and highest sharp step over the middle one, mm, and what follows.

    `rise` is that of one step. `open_ended` says that the stair ends within the band.
    """

    low: float
    high: float
    rise: float
    open_ended: bool

    @property
    def in_focus(self) -> float | None:
        """Sharp up and down of the middle step, mm; None where the band lies to one side of it."""
        return min(-self.low, self.high) if self.low < 0 < self.high else None


def is_focus_table(path: Path) -> bool:
    """Test whether a table is that of a focus-steps coupon, by its first row."""
    return has_answer_column(path, SHARPNESS)


def read_focus_band(path: Path) -> FocusBand:
    """Read the table of a focus-steps coupon; its definition lies beside it.

    Raises:
        UserError: every complaint at once, with file and row; no step is sharp, or a step between
            two sharp ones is not.
    """
    known = definitions_beside(path)
    complaints: list[Complaint] = []
    answers: dict[str, dict[float, Sharpness]] = {}
    heights: dict[str, Mapping[str, float]] = {}
    for fields, place in answer_rows(path):
        try:
            name = fields.get(COUPON, "")
            if name not in heights:
                heights[name] = _heights(name, known, place)
            off = _height(fields.get(CELL, ""), heights[name], place)
            said = _sharpness(fields.get(SHARPNESS, ""), place)
        except UserError as error:
            complaints += error.complaints
            continue
        if off in answers.setdefault(name, {}):
            found = f"step {fields[CELL]} stands in this table twice"
            complaints.append(Complaint(found, "keep one of the rows", place))
        if said is not None:
            answers[name][off] = said
    if complaints:
        raise UserError(complaints)
    if len(answers) > 1:
        found = f"{len(answers)} stairs stand in one table"
        raise wrong(found, "give each plate a table of its own", place=Place(str(path)))
    name = next(iter(answers), "")
    return _band(answers.get(name, {}), tuple(heights.get(name, {}).values()), Place(str(path)))


def _heights(name: str, known: Mapping[str, CouponDefinition], place: Place) -> Mapping[str, float]:
    """Heights over the middle step by cell, mm."""
    definition = definition_of_kind(CouponKind.FOCUS_STEPS, name, known, place)
    return {cell.name: cell.size["off_focus"] for cell in build(definition).cells}


def _height(cell: str, heights: Mapping[str, float], place: Place) -> float:
    if cell not in heights:
        first, *_, last = heights
        raise wrong(f"there is no step {cell!r}", f"they are {first} to {last}", place=place)
    return heights[cell]


def _sharpness(field: str, place: Place) -> Sharpness | None:
    word = field.lower()
    if word in {"", "-", "–", "−"}:
        return None
    if word not in set(Sharpness):
        remedy = f"write {', '.join(Sharpness)}, or nothing where you cannot tell"
        raise wrong(f"{SHARPNESS}: {field!r} is none of the words", remedy, place=place)
    return Sharpness(word)


def _band(answers: Mapping[float, Sharpness], steps: tuple[float, ...], place: Place) -> FocusBand:
    sharp = [off for off, said in answers.items() if said is Sharpness.SHARP]
    if not sharp:
        remedy = "write sharp for the best step, and for all that are as sharp"
        raise wrong("no step is sharp", remedy, place=place)
    low, high = min(sharp), max(sharp)
    between = [off for off in answers if low < off < high and off not in sharp]
    if between:
        found = (
            f"the step at {signed_height(between[0])} mm is {answers[between[0]]}, but steps above "
            "and below it are sharp"
        )
        raise wrong(found, "look again: the sharp steps lie side by side", place=place)
    rise = round(steps[0] - steps[1], 6)
    ends = low == min(steps) or high == max(steps)
    return FocusBand(low=low, high=high, rise=rise, open_ended=ends)


def band_sentences(band: FocusBand) -> tuple[str, ...]:
    """What the band says, and what to write or do; one to three sentences."""
    where = f"Sharp from {signed_height(band.low)} to {signed_height(band.high)} mm"
    if band.low == band.high:
        where = f"Sharp at {signed_height(band.low)} mm only"
    if band.low == band.high == 0:
        finer = digits(band.rise / 2, 3)
        return (f"{where}: mark finer steps, --lengths {finer}mm; write nothing yet.",)
    best = (band.low + band.high) / 2
    side, other = ("above", "lower") if best > 0 else ("below", "higher")
    off = digits(abs(best), 3)
    if band.in_focus is None:
        return (
            f"{where}: the focus lay about {off} mm {side} the middle step.",
            f"Focus that much {other}, and mark another stair; write nothing yet.",
        )
    found = [f"{where}: write in_focus: {digits(band.in_focus, 4)} mm under part: of the recipe."]
    if abs(best) > band.rise / 2 + _SAME:
        found.append(f"Focused {off} mm {other}, it would be {digits(band.high - best, 4)} mm.")
    if band.open_ended:
        found.append("The stair ends within the band: what is sharp may reach farther.")
    return tuple(found)
