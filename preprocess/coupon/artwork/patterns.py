"""The cells of each kind of coupon, distributed over bands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork import shapes
from preprocess.coupon.artwork.cells import CellVariant, cyclic_bands, grouped_bands
from preprocess.coupon.design.dimensions import BLADE_HEIGHT, LEAF_SIZE, TAPER
from preprocess.coupon.design.model import CouponKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.coupon.artwork.cells import CellBands, CellGeometry
    from preprocess.coupon.design.model import CouponDefinition

_SEEDS, _BETWEEN = 4, 1.2
"""Number of seeds that share their rows, and the gap between two of them, mm."""

_LOWER_SEEDS, _BELOW = 3, 1.2
"""Number of seeds one below the other, and the gap between two of them, mm."""

_FINE_HEIGHT = 3.0
"""Height of lines and gaps down the rows, mm."""

PHASES = 10
"""Columns of the vernier of the first row."""

_BARRED_SIZE = (3.0, 2.0)
"""Width and height of a blade beside a bar, mm."""


def cell_bands(definition: CouponDefinition) -> CellBands:
    """The cells of a coupon, band by band; empty for those that are laid out otherwise."""
    layers, lengths = len(definition.settings), definition.lengths
    if definition.kind in {CouponKind.FIELD_SCALE, CouponKind.GREY_STEPS, CouponKind.FOCUS_STEPS}:
        return ()
    if definition.kind is CouponKind.SPOT_BLEED:
        return grouped_bands(layers, _gaps_and_lines(lengths))
    if definition.kind is CouponKind.FIRST_ROW:
        return grouped_bands(layers, [_vernier(lengths[0], definition.settings[0].pitch or 0.0)])
    if definition.kind is CouponKind.BAR_DISTANCE:
        return grouped_bands(layers, [[variant] for variant in _barred(lengths)])
    make = _VARIANTS[definition.kind]
    return cyclic_bands(layers, [variant for length in lengths for variant in make(length)])


def _variant(*drawn: CellGeometry, **size: float) -> CellVariant:
    return CellVariant(shapes=drawn, size=size)


def _blade(span: float) -> list[CellVariant]:
    return [_variant(shapes.blade(span, BLADE_HEIGHT), span=span, height=BLADE_HEIGHT)]


def _seeds(diameter: float) -> list[CellVariant]:
    """A row of seeds that share their rows, and a column of seeds that do not."""
    row, one = shapes.seed_row(diameter, _SEEDS, _BETWEEN), shapes.seed(diameter)
    column = [shapes.translated(one, 0.0, n * (diameter + _BELOW)) for n in range(_LOWER_SEEDS)]
    return [
        _variant(*drawn, seed=diameter, span=round(drawn[0].bounds[2], 6))
        for drawn in ([row], column)
    ]


def _gaps_and_lines(widths: Sequence[float]) -> list[list[CellVariant]]:
    return [
        [_variant(shapes.gap_gauge(width, _FINE_HEIGHT), gap=width) for width in widths],
        [_variant(shapes.upright_line(width, _FINE_HEIGHT), line=width) for width in widths],
    ]


def _vernier(width: float, pitch: float) -> list[CellVariant]:
    """Ten columns whose strips lie a tenth of the pitch lower from one to the next."""
    return [
        _variant(shapes.vernier_column(width, pitch, number / PHASES), column=width)
        for number in range(PHASES)
    ]


def _barred(distances: Sequence[float]) -> list[CellVariant]:
    """Blades at the left edge and at the right edge in turn."""
    drawn = (shapes.upright_line(*_BARRED_SIZE),)
    return [
        CellVariant(shapes=drawn, size={"distance": distance}, bar=distance, side=side)
        for distance in distances
        for side in (-1, 1)
    ]


_VARIANTS: dict[CouponKind, Callable[[float], list[CellVariant]]] = {
    CouponKind.POWER_SPEED: _blade,
    CouponKind.PITCH: _blade,
    CouponKind.ROW_SPAN: _blade,
    CouponKind.TOGETHER_APART: _seeds,
    CouponKind.ONE_WAY_TWO_WAY: _blade,
    CouponKind.OWN_ROWS: _blade,
    CouponKind.REPEATS: _blade,
    CouponKind.RASTERED_INTERLEAVED: lambda width: [
        _variant(shapes.pointed_leaf(width, TAPER[0], TAPER[1]), width=width)
    ],
    CouponKind.TIP_WIDTH: lambda tip: [_variant(shapes.pointed_leaf(*LEAF_SIZE, tip), tip=tip)],
    CouponKind.SIZES: lambda width: [_variant(shapes.sprig(width), width=width)],
    CouponKind.SCORE_DEPTH: lambda length: [_variant(shapes.stems(length), length=length)],
}
