"""The columns of a grade table: written to be filled in, and compared when it is read."""

from __future__ import annotations

import csv
import re
from io import StringIO
from typing import TYPE_CHECKING

from preprocess.coupon.design.model import CouponKind, Grade, Sharpness
from preprocess.coupon.paper.grading_order import grading_order
from preprocess.model.artwork.settings import Direction
from preprocess.units import LENGTH, SHARE, SPEED, UnitError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.coupon.design.model import Cell, Coupon
    from preprocess.units import Quantity

COUPON, CELL, MEASURED, GRADE = "coupon", "cell", "measured", "grade"
EQUALS, SHARPNESS = "equals", "sharpness"
_DIRECTION = "direction"

_SETTINGS: Mapping[str, Quantity] = {"power": SHARE, "speed": SPEED, "pitch": LENGTH}
_MORE_GRADES = re.compile(r"grade(_[2-9]|_[1-9]\d+)?\Z")
_NEAR = 1e-5
"""Relative difference below which two figures count as equal."""


def is_grade_column(column: str) -> bool:
    """Test whether a column holds grades: `grade`, or `grade_2` and so on for more judges."""
    return _MORE_GRADES.match(column) is not None


def is_measured_coupon(coupon: Coupon) -> bool:
    """Test whether the cells of a coupon are measured, not graded."""
    return coupon.kind == CouponKind.FIELD_SCALE


def answer_column(coupon: Coupon) -> str:
    """The column that a person fills in: a grade, a length, a sharpness, or what looks equal."""
    if coupon.kind == CouponKind.FOCUS_STEPS:
        return SHARPNESS
    if coupon.kind == CouponKind.GREY_STEPS:
        return EQUALS
    return MEASURED if is_measured_coupon(coupon) else GRADE


def answer_words(coupon: Coupon) -> tuple[str, ...]:
    """The words among which a person chooses for each cell; none where something is measured."""
    words = {GRADE: Grade, SHARPNESS: Sharpness}.get(answer_column(coupon), ())
    return tuple(str(word) for word in words)


def grade_table_bytes(coupon: Coupon) -> bytes:
    """The table with one row to each cell, in the order of judging; its last column is blank."""
    last = answer_column(coupon)
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    names = cell_columns(coupon)
    writer.writerow([COUPON, CELL, *names, last])
    for cell in grading_order(coupon):
        said = cell_texts(cell)
        fields = [said.get(name, "") for name in names]
        writer.writerow([coupon.id, cell.name, *fields, ""])
    return out.getvalue().encode()


def cell_columns(coupon: Coupon) -> tuple[str, ...]:
    """Columns between those of the cell and the grade; extra settings and lengths of any cell."""
    extra = dict.fromkeys(name for cell in coupon.cells for name in cell.extra)
    sizes = dict.fromkeys(name for cell in coupon.cells for name in cell.size)
    return (*_SETTINGS, _DIRECTION, *extra, *sizes)


def cell_texts(cell: Cell) -> dict[str, str]:
    """Settings and lengths of a cell by column, with units; inapplicable ones are left out."""
    said = {name: kind.text(getattr(cell, name)) for name, kind in _SETTINGS.items()}
    said[_DIRECTION] = str(Direction.TWO_WAY if cell.two_way else Direction.ONE_WAY)
    if not cell.pitch:
        del said["pitch"], said[_DIRECTION]
    if not cell.power:
        del said["power"]  # of a grey, which is to be found out
    return (
        said | dict(cell.extra) | {name: LENGTH.text(length) for name, length in cell.size.items()}
    )


def field_matches(cell: Cell, column: str, field: str) -> bool:
    """Test whether a field still has the value that was written, in any notation."""
    wanted = cell_texts(cell).get(column, "")
    if field == wanted or column == _DIRECTION or not field or not wanted:
        return field == wanted
    if column in cell.extra:
        return "".join(field.split()) == "".join(wanted.split())
    kind = _SETTINGS.get(column, LENGTH)
    try:
        value, meant = kind.parse(field), kind.parse(wanted)
    except UnitError:
        return False
    return abs(value - meant) <= _NEAR * abs(meant)
