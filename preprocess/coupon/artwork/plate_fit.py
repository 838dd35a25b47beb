"""Check that a coupon fits on its plate and in the usable field; say what would fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.coupon.artwork.blades import placed_blades
from preprocess.coupon.artwork.grey_steps import placed_steps
from preprocess.coupon.artwork.layout import (
    cells_bounds,
    field_gauge,
    lay_out_bands,
    off_the_page_rows,
)
from preprocess.coupon.artwork.patterns import cell_bands
from preprocess.coupon.artwork.stair.step_marks import placed_step_marks, stair_size
from preprocess.coupon.artwork.stroke_font import lettering_width
from preprocess.coupon.design.dimensions import LABEL_HEIGHT, MARGIN, usable_field
from preprocess.coupon.design.model import CouponKind
from preprocess.errors import Refusal
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.coupon.artwork.layout import PlacedCell
    from preprocess.coupon.design.model import CouponDefinition

_SLACK = 1e-6
_ID = 8
"""Digits of the id below the cells."""


def fitted_cells(definition: CouponDefinition) -> tuple[PlacedCell, ...]:
    """The cells in their places.

    Raises:
        Refusal: they do not fit; the remedy names layers and lengths that do.
    """
    placed = _placed(definition)
    if not _too_large(placed, definition):
        return placed
    marked, wide = _marked_width(placed), usable_field(definition)[0]
    if marked > wide + _SLACK and any(p.bars for p in placed):
        raise Refusal(
            f"with its bars this coupon is {marked:.1f} mm wide, but only {digits(wide)} mm of the "
            "field may be used",
            "take a narrower plate, or give shorter distances",
        )
    (width, height), (wide, high) = _needed_size(placed, definition), _offered_size(definition)
    raise Refusal(
        f"this coupon needs {width:.1f} × {height:.1f} mm, but only {digits(wide)} × "
        f"{digits(high)} mm are "
        "free",
        _remedy(definition),
    )


def _placed(definition: CouponDefinition) -> tuple[PlacedCell, ...]:
    if definition.kind is CouponKind.FIELD_SCALE:
        across, down = (*definition.lengths, definition.lengths[0])[:2]
        return field_gauge(across, down, definition.plate)
    if definition.kind is CouponKind.GREY_STEPS:
        return placed_steps(definition)
    if definition.kind is CouponKind.FOCUS_STEPS:
        return placed_step_marks(definition)
    if definition.kind is CouponKind.BLADES:
        return placed_blades(definition)
    placed = lay_out_bands(cell_bands(definition), definition.plate, MARGIN + LABEL_HEIGHT)
    if definition.kind is CouponKind.FIRST_ROW:
        return off_the_page_rows(placed, definition.settings[0].pitch or 1.0)
    return placed


def _too_large(placed: Sequence[PlacedCell], definition: CouponDefinition) -> bool:
    needed = (*_needed_size(placed, definition), _marked_width(placed))
    offered = (*_offered_size(definition), usable_field(definition)[0])
    return any(need > side + _SLACK for need, side in zip(needed, offered, strict=True))


def _offered_size(definition: CouponDefinition) -> tuple[float, float]:
    """Width and height of the plate, or of its part within the field and the margin, mm."""
    width, height = (
        min(side, within + 2 * MARGIN)
        for side, within in zip(definition.plate, usable_field(definition), strict=True)
    )
    return width, height


def _needed_size(placed: Sequence[PlacedCell], definition: CouponDefinition) -> tuple[float, float]:
    if definition.kind is CouponKind.FOCUS_STEPS:
        return stair_size(definition)
    left, top, right, bottom = cells_bounds(placed)
    width = max(right - left, lettering_width("0" * _ID, LABEL_HEIGHT))
    height = bottom - top + 2 * MARGIN
    if definition.kind not in {CouponKind.FIELD_SCALE, CouponKind.BLADES}:
        height += MARGIN + LABEL_HEIGHT
    return (width if any(p.bars for p in placed) else width + 2 * MARGIN), height


def _marked_width(placed: Sequence[PlacedCell]) -> float:
    """Width of all marks, bars included, mm."""
    marks = [g for p in placed for g in (*p.shapes, p.label, p.bars) if g is not None]
    left, _, right, _ = shapely.total_bounds(marks)
    return float(right - left)


def _remedy(definition: CouponDefinition) -> str:
    if definition.kind is CouponKind.BLADES:
        return (
            "take a larger plate, or narrower and shorter blades, such as --lengths 10mm,1mm,24mm"
        )
    if definition.kind is CouponKind.FOCUS_STEPS:
        return "take a larger plate: the stair is printed for this coupon alone"
    smaller = next((one for one in _smaller(definition) if not _too_large(_placed(one), one)), None)
    if smaller is None:
        return "take a larger plate or another kind of coupon; not even one cell of this one fits"
    layers = len(smaller.settings)
    kept = "all layers" if layers == len(definition.settings) else f"only {layers} layers"
    lengths = ", ".join(f"{digits(length)} mm" for length in smaller.lengths)
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
