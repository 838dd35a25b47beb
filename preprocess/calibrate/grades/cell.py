"""Grades as values: what a person saw on each cell."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preprocess.coupon.design.model import Coupon


class Grade(StrEnum):
    """What a person saw; never light or dark, since filaments differ in that."""

    WEAK = "weak"
    EVEN = "even"
    HEAVY = "heavy"
    MOLTEN = "molten"


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedCell:
    """One row of a grade table.

    `grades` has one entry for each judge or repeat, None where the field is blank. `measured` is a
    length in mm, on coupons that are measured with a calliper. `line` counts from 1.
    """

    coupon: str
    cell: str
    grades: tuple[Grade | None, ...]
    measured: float | None = None
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeTable:
    """A table that fits its coupons: every cell has one row, every row a cell.

    `coupons` are those that the rows name, in the order of the rows.
    """

    file: str
    coupons: tuple[Coupon, ...]
    rows: tuple[GradedCell, ...]
