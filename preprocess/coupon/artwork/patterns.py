"""What each kind of coupon shows: its cells, shared out over bands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork import shapes
from preprocess.coupon.artwork.pieces import Piece, Variant, shared_out, side_by_side
from preprocess.coupon.design.model import Kind

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.coupon.artwork.pieces import Bands
    from preprocess.coupon.design.model import CouponDefinition

    Lengths = tuple[float, ...]

HEIGHT = 5.0
"""mm down the rows of a blade: enough for the warmth to settle after the first rows."""

LEAF = (5.0, 8.0)
"""Width and height of a leaf, mm."""

SEEDS, BETWEEN = 4, 1.2
"""Seeds that share their rows, and mm between two of them."""

LOWER_SEEDS, BELOW = 3, 1.2
"""Seeds that stand one below the other, and mm between two of them."""

_STEM = 7.0
"""mm of a scored stem."""

_FINE = 3.0
"""mm down the rows of lines and gaps."""

_BESIDE = (3.0, 2.0)
"""Width and height of a blade that a bar belongs to, mm."""


def bands_of(definition: CouponDefinition) -> Bands:
    """The cells of a coupon, band by band; empty for the gauge of the field, which has none."""
    make = _MADE[definition.kind]
    return make(len(definition.settings), definition.lengths)


def _blades(layers: int, spans: Lengths) -> Bands:
    sizes = [{"span": span, "height": HEIGHT} for span in spans]
    made = [
        Variant(shapes=(shapes.blade(span, HEIGHT),), size=size)
        for span, size in zip(spans, sizes, strict=True)
    ]
    return shared_out(layers, made)


def _seeds(layers: int, diameters: Lengths) -> Bands:
    made = []
    for diameter in diameters:
        row = shapes.seeds(diameter, SEEDS, BETWEEN)
        one = shapes.dot(diameter)
        column = tuple(shapes.moved(one, 0.0, n * (diameter + BELOW)) for n in range(LOWER_SEEDS))
        for drawn in ((row,), column):
            span = drawn[0].bounds[2]
            made.append(Variant(shapes=drawn, size={"seed": diameter, "span": round(span, 6)}))
    return shared_out(layers, made)


def _barred(layers: int, distances: Lengths) -> Bands:
    """One cell to a band, at the left edge and at the right edge in turn."""
    width, height = _BESIDE
    drawn = (shapes.upright(width, height),)
    made = [
        Variant(shapes=drawn, size={"distance": distance}, bar=distance, side=side)
        for distance in distances
        for side in (-1, 1)
    ]
    return tuple(
        (Piece(setting=setting, number=number, variant=variant),)
        for setting in range(layers)
        for number, variant in enumerate(made)
    )


def _leaves(layers: int, tips: Lengths) -> Bands:
    made = [Variant(shapes=(shapes.leaf(*LEAF, tip),), size={"tip": tip}) for tip in tips]
    return shared_out(layers, made)


def _sprigs(layers: int, widths: Lengths) -> Bands:
    made = [Variant(shapes=(shapes.sprig(width),), size={"width": width}) for width in widths]
    return shared_out(layers, made)


def _fine(layers: int, widths: Lengths) -> Bands:
    gaps = [Variant(shapes=(shapes.comb(w, _FINE),), size={"gap": w}) for w in widths]
    lines = [Variant(shapes=(shapes.upright(w, _FINE),), size={"line": w}) for w in widths]
    return side_by_side(layers, (gaps, lines))


def _stems(layers: int, lengths: Lengths) -> Bands:
    made = [Variant(shapes=(shapes.stems(length),), size={"length": length}) for length in lengths]
    return shared_out(layers, made)


def _none(_layers: int, _lengths: Lengths) -> Bands:
    return ()


_MADE: dict[Kind, Callable[[int, Lengths], Bands]] = {
    Kind.POWER_SPEED: _blades,
    Kind.PITCH: _blades,
    Kind.ROW_SPAN: _blades,
    Kind.TOGETHER_APART: _seeds,
    Kind.ONE_WAY_TWO_WAY: _blades,
    Kind.BAR_DISTANCE: _barred,
    Kind.TIP_WIDTH: _leaves,
    Kind.SIZES: _sprigs,
    Kind.SPOT_BLEED: _fine,
    Kind.SCORE_DEPTH: _stems,
    Kind.FIELD_SCALE: _none,
}
