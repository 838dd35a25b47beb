"""Definitions of coupons, from the bench, the recipe's settings and the user's options."""

from __future__ import annotations

from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from preprocess.coupon.design.defaults import (
    DEFAULT_LENGTHS,
    CouponOverrides,
    in_marking_order,
    label_settings,
    layer_settings,
    own_rows_of,
)
from preprocess.coupon.design.definition import canonical_definition
from preprocess.coupon.design.dimensions import MARGIN, usable_field
from preprocess.coupon.design.model import CouponDefinition, CouponKind
from preprocess.coupon.design.validate import validate_definition
from preprocess.errors import Refusal
from preprocess.model.bench.filament import Filament

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.model.artwork.settings import Operation, Settings
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine


def define(
    kind: str,
    bench: Bench,
    *,
    plate: tuple[float, float],
    settings: Mapping[Operation, Settings] | None = None,
    asked: CouponOverrides | None = None,
) -> CouponDefinition:
    """Define a coupon.

    Args:
        kind: quantity that it measures, a value of `CouponKind`.
        bench: machine and filament as far as known; of the part only its thickness.
        plate: width and height of the plate, mm.
        settings: those of the recipe; the filament's reference patch fills what they leave open.
        asked: the user's own choices instead of the default ones.

    Raises:
        Refusal: an unknown kind, too many layers, no speed or pitch, or lengths that make no sense.
    """
    which, wanted, asked = _kind(kind), settings or {}, asked or CouponOverrides()
    layers = in_marking_order(asked.layers or layer_settings(which, bench, wanted, asked))
    definition = CouponDefinition(
        kind=which,
        plate=plate,
        thickness=_thickness(which, bench),
        room=asked.room,
        settings=layers,
        labels=label_settings(bench, wanted, layers),
        lengths=asked.lengths or DEFAULT_LENGTHS[which] or (1.0,),
        own_rows=own_rows_of(which, bench, wanted, asked),
        crosses=asked.crosses or which is CouponKind.BLADES,
        machine=_bare(bench.machine),
        filament=_printed(bench),
    )
    if which is CouponKind.FIELD_SCALE and not asked.lengths:
        definition = replace(definition, lengths=_as_large_as_may_be(definition))
    validate_definition(definition)
    return canonical_definition(definition)


def _thickness(kind: CouponKind, bench: Bench) -> float | None:
    """That of the part, whose plate is printed alike; a stair has many."""
    return bench.parts[0].thickness if bench.parts and kind is not CouponKind.FOCUS_STEPS else None


def _bare(machine: Machine | None) -> Machine | None:
    """The machine without what no cell of a coupon depends on."""
    return replace(machine, anchors=False, extra_settings=None, grey=None) if machine else None


def _printed(bench: Bench) -> Filament | None:
    """The filament, under the name of the part's own filament."""
    name = bench.parts[0].filament if bench.parts else None
    if name is None:
        return bench.filament
    return replace(bench.filament, name=name) if bench.filament else Filament(name=name)


def _kind(kind: str) -> CouponKind:
    if kind not in set(CouponKind):
        near = get_close_matches(kind, list(CouponKind), n=1)
        remedy = f"did you mean {near[0]}?" if near else f"take one of {', '.join(CouponKind)}"
        raise Refusal(f"there is no coupon of kind {kind!r}", remedy)
    return CouponKind(kind)


def _as_large_as_may_be(definition: CouponDefinition) -> tuple[float, float]:
    """Largest whole mm across and down that fit on the plate and in the field."""
    room = usable_field(definition)
    sizes = (
        min(side - 2 * MARGIN, within) for side, within in zip(definition.plate, room, strict=True)
    )
    across, down = (max(1.0, float(int(size))) for size in sizes)
    return across, down
