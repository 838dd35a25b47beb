"""The answer of a first-row coupon: which column each rule for the first row fills."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.rows import row_runs
from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from preprocess.coupon.design.model import Coupon


def filled_columns(coupon: Coupon) -> dict[FirstRow, str]:
    """Name of the cell with most lit rows, by rule, counted in the job as it would be done."""
    return {rule: _filled(coupon, rule) for rule in FirstRow}


def _filled(coupon: Coupon, rule: FirstRow) -> str:
    machine = replace(coupon.bench.machine_or_default, first_row=rule)
    rows: dict[str, int] = dict.fromkeys((cell.name for cell in coupon.cells), 0)
    cells = {shape: cell.name for cell in coupon.cells for shape in cell.shapes}
    boxes = {s.id: s.geometry.bounds for s in coupon.artwork.shapes if s.id in cells}
    for group in plan_of(coupon.artwork, machine).steps:
        if not isinstance(group, RasterGroup):
            continue
        runs = row_runs(group)
        middle = (runs.start + runs.end) / 2
        for shape in group.shapes:
            left, _, right, _ = boxes[shape.id]
            rows[cells[shape.id]] += int(np.sum((middle > left) & (middle < right)))
    return max(rows, key=lambda name: rows[name])


def answer_text(coupon: Coupon) -> str:
    """One sentence: the filled column, and what to write into the machine file for it."""
    each = (f"{cell}: first_row: {rule}" for rule, cell in filled_columns(coupon).items())
    return (
        f"the column that is filled below its bar tells it: {'; '.join(each)}; another one, or "
        "none: the software adds a shift of its own"
    )
