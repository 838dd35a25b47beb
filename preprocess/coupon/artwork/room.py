"""Whether a coupon fits on its plate and in its part of the field; if not, what would."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.coupon.artwork.layout import LETTER, MARGIN, Placed, bounds, gauge, laid_out
from preprocess.coupon.artwork.letters import width_of
from preprocess.coupon.artwork.patterns import bands_of
from preprocess.coupon.design.model import Kind
from preprocess.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.coupon.design.model import CouponDefinition

_SLACK = 1e-6
_ID = 8
"""Digits of the id that are scored below the cells."""

Size = tuple[float, float]


def room_of(definition: CouponDefinition) -> Size:
    """The part of the field that may be used, mm; endless where no field is known."""
    field = definition.machine.field if definition.machine else None
    sides = [side for side in (definition.room, field) if side is not None]
    endless = float("inf")
    return (
        min([endless, *(side[0] for side in sides)]),
        min([endless, *(side[1] for side in sides)]),
    )


def fitting(definition: CouponDefinition) -> tuple[Placed, ...]:
    """The cells in their places.

    Raises:
        Refusal: they do not fit; the remedy says what would.
    """
    placed = _placed(definition)
    if not _too_large(placed, definition):
        return placed
    struck, wide = _struck(placed), room_of(definition)[0]
    if struck > wide + _SLACK and any(p.bars for p in placed):
        raise Refusal(
            f"with its bars this coupon takes {struck:.1f} mm along the rows, but only {wide:g} mm "
            "of the field may be used",
            "take a narrower plate, or give shorter distances",
        )
    (width, height), (wide, high) = _needs(placed, definition), _offered(definition)
    raise Refusal(
        f"this coupon takes {width:.1f} × {height:.1f} mm, but {wide:g} × {high:g} mm are there",
        _remedy(definition),
    )


def _placed(definition: CouponDefinition) -> tuple[Placed, ...]:
    if definition.kind is Kind.FIELD_SCALE:
        across, down = (*definition.lengths, definition.lengths[0])[:2]
        return gauge(across, down, definition.plate)
    return laid_out(bands_of(definition), definition.plate, MARGIN + LETTER)


def _too_large(placed: Sequence[Placed], definition: CouponDefinition) -> bool:
    needs, offered = _needs(placed, definition), _offered(definition)
    return any(need > side + _SLACK for need, side in zip(needs, offered, strict=True)) or (
        _struck(placed) > room_of(definition)[0] + _SLACK
    )


def _offered(definition: CouponDefinition) -> Size:
    """Plate, or what of it lies in the part of the field, with the margin that it keeps."""
    room = room_of(definition)
    width, height = (
        min(side, within + 2 * MARGIN) for side, within in zip(definition.plate, room, strict=True)
    )
    return width, height


def _needs(placed: Sequence[Placed], definition: CouponDefinition) -> Size:
    left, top, right, bottom = bounds(placed)
    width = max(right - left, width_of("0" * _ID, LETTER))
    height = bottom - top
    if definition.kind is not Kind.FIELD_SCALE:
        height += MARGIN + LETTER
    if any(p.bars for p in placed):
        return width, height + 2 * MARGIN
    return width + 2 * MARGIN, height + 2 * MARGIN


def _struck(placed: Sequence[Placed]) -> float:
    """Width of all that is marked, bars included, mm."""
    all_of_it = [g for p in placed for g in (*p.shapes, p.label, p.bars) if g is not None]
    left, _, right, _ = shapely.total_bounds(all_of_it)
    return float(right - left)


def _remedy(definition: CouponDefinition) -> str:
    smaller = next((one for one in _smaller(definition) if not _too_large(_placed(one), one)), None)
    if smaller is None:
        return "take a larger plate or another kind of coupon; not even one cell of this one fits"
    layers = len(smaller.settings)
    kept = "all layers" if layers == len(definition.settings) else f"only {layers} layers"
    lengths = ", ".join(f"{length:g} mm" for length in smaller.lengths)
    return f"take a larger plate, or keep {kept} and the lengths {lengths}, which would fit"


def _smaller(definition: CouponDefinition) -> Iterator[CouponDefinition]:
    """Fewer layers and lengths, those with most cells first; the largest lengths go first."""
    ascending = sorted(definition.lengths)
    counts = [
        (layers, lengths)
        for layers in range(1, len(definition.settings) + 1)
        for lengths in range(1, len(ascending) + 1)
    ]
    for layers, lengths in sorted(counts, key=lambda n: (-n[0] * n[1], -n[1])):
        kept = set(ascending[:lengths])
        yield replace(
            definition,
            settings=definition.settings[:layers],
            lengths=tuple(length for length in definition.lengths if length in kept),
        )
