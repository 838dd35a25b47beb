"""Checks of a definition before the coupon is built; its file may have been edited by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.defaults import SCORED_KINDS
from preprocess.coupon.design.dimensions import LAYER_LETTERS, LEAF_SIZE
from preprocess.coupon.design.model import OWN_ROW_KINDS, CouponKind
from preprocess.errors import Refusal
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes.interleave.interleave import Form
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.coupon.design.model import CouponDefinition

_SHORTEST = 0.01
"""Least length, mm: finer ones cannot be marked or graded."""

_RISES = (0.05, 1.0)
"""Least and largest rise of a step, mm: finer ones cannot be printed."""

_MOST_LENGTHS = 24
_OF_GAUGE = 2
_OF_BLADES = 3


def validate_definition(definition: CouponDefinition) -> None:
    """Refuse a definition that makes no coupon.

    Raises:
        Refusal: too many layers or lengths, settings that are not complete, lengths too short.
    """
    _few_layers(definition)
    _complete(definition)
    _own_rows(definition)
    _lengths(definition)


def _few_layers(definition: CouponDefinition) -> None:
    most, whose = len(LAYER_LETTERS), "a coupon has"
    machine = definition.machine
    if machine is not None and machine.max_layers is not None and machine.max_layers <= most:
        most, whose = machine.max_layers - 1, f"the software of {machine.name} leaves"
    count = len(definition.settings)
    if count > most:
        raise Refusal(
            f"{count} layers and the labels are too many: {whose} room for {most} besides the "
            "labels",
            "give fewer powers, speeds or pitches",
        )
    if definition.kind is CouponKind.FIELD_SCALE and count > 1:
        raise Refusal("the gauge of the field has one layer only", "give one power and one speed")


def _complete(definition: CouponDefinition) -> None:
    scored = definition.kind in SCORED_KINDS
    for letter, settings in zip(LAYER_LETTERS, definition.settings, strict=False):
        held = {"power": settings.power, "speed": settings.speed}
        drawn = definition.own_rows is not None
        held |= {} if scored or drawn else {"pitch": settings.pitch}
        missing = [name for name, value in held.items() if value is None]
        if missing:
            raise Refusal(f"layer {letter} has no {' and no '.join(missing)}", "give it")
        if scored and settings.pitch is not None:
            raise Refusal(f"{definition.kind} is scored and has no rows", "leave out the pitch")


def _own_rows(definition: CouponDefinition) -> None:
    wants = definition.kind in OWN_ROW_KINDS
    if wants != (definition.own_rows is not None):
        found = f"{definition.kind} {'lacks' if wants else 'takes no'} own rows"
        raise Refusal(found, "give own_rows: {pitch, rounds}" if wants else "leave own_rows out")
    if definition.own_rows is None or definition.own_rows.form is Form.OWN_ROWS:
        return
    machine, remedy = definition.machine, "give own_rows form: own-rows"
    if definition.kind is not CouponKind.RASTERED_INTERLEAVED:
        raise Refusal(f"{definition.kind} has lines to score, and no strips", remedy)
    if machine is not None and machine.raster_groups is not RasterGroups.EACH_PATH:
        found = f"{machine.name} sweeps each colour as a whole, so that one leaf is one round"
        raise Refusal(found, remedy)


def _lengths(definition: CouponDefinition) -> None:
    lengths = definition.lengths
    if min(lengths) < _SHORTEST:
        found = f"a length of {digits(min(lengths))} mm is too short to be marked"
        raise Refusal(found, f"give lengths from {digits(_SHORTEST)} mm on")
    if definition.kind is CouponKind.TIP_WIDTH and max(lengths) >= LEAF_SIZE[0]:
        found = f"a tip of {digits(max(lengths))} mm is as wide as its leaf"
        raise Refusal(found, f"give widths below {digits(LEAF_SIZE[0])} mm")
    if definition.kind is CouponKind.BLADES:
        _of_blades(lengths)
    if definition.kind is CouponKind.FOCUS_STEPS:
        _of_stair(definition)
    most = _OF_GAUGE if definition.kind is CouponKind.FIELD_SCALE else _MOST_LENGTHS
    if len(lengths) > most:
        raise Refusal(f"{len(lengths)} lengths are given", f"give at most {most}")


def _of_stair(definition: CouponDefinition) -> None:
    if len(definition.settings) > 1:
        found = f"a stair is marked with one layer, but {len(definition.settings)} are given"
        raise Refusal(found, "give one power, one speed and one pitch")
    low, high = _RISES
    if len(definition.lengths) > 1 or not low <= definition.lengths[0] <= high:
        given = ", ".join(f"{digits(one)} mm" for one in definition.lengths)
        found = f"the steps of a stair cannot rise by {given}"
        raise Refusal(found, f"give one rise from {digits(low)} mm to {digits(high)} mm")


def _of_blades(lengths: tuple[float, ...]) -> None:
    remedy = "give width, width of the tip, and length, such as 16mm,1mm,36mm"
    if len(lengths) != _OF_BLADES:
        raise Refusal(f"a blade has three lengths, but {len(lengths)} are given", remedy)
    wide, tip, _ = lengths
    if tip >= wide:
        found = f"the tip of {digits(tip)} mm is as wide as the blade of {digits(wide)} mm"
        raise Refusal(found, remedy)
