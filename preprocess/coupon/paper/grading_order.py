"""In which order cells are judged: one that does not go with power, speed or span.

A judge who grows stricter or milder from cell to cell then adds noise, and does not tilt what is
fitted; and the drift itself shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.design.model import CouponKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.coupon.design.model import Cell, Coupon

HEAT_KINDS = frozenset(
    {
        CouponKind.POWER_SPEED,
        CouponKind.PITCH,
        CouponKind.ROW_SPAN,
        CouponKind.TOGETHER_APART,
        CouponKind.ONE_WAY_TWO_WAY,
        CouponKind.SIZES,
    }
)
"""Kinds whose grades tell of heat; others are judged by their edges."""

SEED, TRIES, TINY = 3, 500, 1e-9


def grading_order(coupon: Coupon) -> tuple[Cell, ...]:
    """The cells as they stand in the grade table; the same coupon gives the same order."""
    cells = coupon.cells
    told = _told(cells)
    if coupon.kind not in HEAT_KINDS or not told.size:
        return cells
    random = np.random.default_rng(SEED)
    orders = [random.permutation(len(cells)) for _ in range(TRIES)]
    place = np.linspace(-1.0, 1.0, len(cells))
    alike = [np.abs(place @ told[order]).max() for order in orders]
    return tuple(cells[n] for n in orders[int(np.argmin(alike))])


def cell_span(cell: Cell) -> float | None:
    """Width of a cell along its rows, mm."""
    return cell.size.get("span", cell.size.get("width"))


def _told(cells: Sequence[Cell]) -> Floats:
    """What varies from cell to cell, each of unit length around 0: cells × quantities."""
    columns = [
        np.array([value(cell) for cell in cells])
        for value in (
            lambda cell: np.log(cell.power),
            lambda cell: np.log(cell.speed),
            lambda cell: np.log(cell.power / cell.speed),
            lambda cell: cell.pitch,
            lambda cell: float(cell.two_way),
            lambda cell: np.log(cell_span(cell) or 1.0),
        )
    ]
    away = [column - column.mean() for column in columns]
    sizes = [float(np.linalg.norm(column)) for column in away]
    kept = [column / size for column, size in zip(away, sizes, strict=True) if size > TINY]
    return np.array(kept, dtype=np.float64).T
