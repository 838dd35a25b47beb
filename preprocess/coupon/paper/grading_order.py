"""The grading order: random, and least correlated with power, speed, pitch, direction and span.

A judge who drifts from cell to cell then adds noise without bias, and the drift can be estimated.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.design.model import CouponKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.coupon.design.model import Cell, Coupon

_BY_EDGES = {CouponKind.BAR_DISTANCE, CouponKind.TIP_WIDTH, CouponKind.SPOT_BLEED}
_BY_TONE = {CouponKind.RASTERED_INTERLEAVED, CouponKind.OWN_ROWS, CouponKind.REPEATS}
_BY_LINES = {
    CouponKind.SCORE_DEPTH,
    CouponKind.FIELD_SCALE,
    CouponKind.FIRST_ROW,
    CouponKind.GREY_STEPS,
    CouponKind.FOCUS_STEPS,
}
_BY_PHOTO = {CouponKind.BLADES}
HEAT_KINDS = frozenset(CouponKind) - _BY_EDGES - _BY_TONE - _BY_LINES - _BY_PHOTO
"""Kinds from whose grades heat is learned; others are graded by their edges, compare two ways, or
are measured in a photo."""

_SEED, _TRIES, _TINY = 3, 500, 1e-9


def grading_order(coupon: Coupon) -> tuple[Cell, ...]:
    """The cells in the order of the grade table; the same coupon gives the same order."""
    cells = coupon.cells
    if coupon.kind not in HEAT_KINDS | _BY_TONE:
        return cells
    varied = _varied(cells)
    if not varied.size:
        return cells
    random = np.random.default_rng(_SEED)
    orders = [random.permutation(len(cells)) for _ in range(_TRIES)]
    place = np.linspace(-1.0, 1.0, len(cells))
    alike = [np.abs(place @ varied[order]).max() for order in orders]
    return tuple(cells[n] for n in orders[int(np.argmin(alike))])


def cell_span(cell: Cell) -> float | None:
    """Width of a cell along its rows, mm."""
    return cell.size.get("span", cell.size.get("width"))


def _varied(cells: Sequence[Cell]) -> Floats:
    """Standardised quantities that vary from cell to cell: cells × quantities."""
    ratios = [(c.power, c.speed, c.power / c.speed, cell_span(c) or 1.0) for c in cells]
    plain = np.array([(c.pitch, float(c.two_way)) for c in cells]).T
    columns = [*np.log(np.array(ratios).T), *plain]
    away = [column - column.mean() for column in columns]
    sizes = [float(np.linalg.norm(column)) for column in away]
    kept = [column / size for column, size in zip(away, sizes, strict=True) if size > _TINY]
    return np.array(kept, dtype=np.float64).T
