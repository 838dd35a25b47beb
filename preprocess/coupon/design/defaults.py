"""Default settings and lengths of coupons, and the user's overrides."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from itertools import product
from typing import TYPE_CHECKING

from preprocess.coupon.design.machine_steps import refuse_unsettable, settable_power, settable_speed
from preprocess.coupon.design.model import OWN_ROW_KINDS, CouponKind, OwnRows
from preprocess.coupon.design.power_estimate import POWER_FACTORS, estimated_power
from preprocess.errors import Refusal
from preprocess.geometry.rows.rounds import usual_rounds
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes.interleave.interleave import Form

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from preprocess.model.bench.bench import Bench

SCORED_KINDS = frozenset({CouponKind.SCORE_DEPTH, CouponKind.FIELD_SCALE})
"""Kinds whose cells are scored; all others are engraved in rows."""

_FROM_LOW = (0.1, 0.2, 0.4)
"""Powers where neither a power nor the machine's watts are known; the lowest comes first."""

_EXPONENT = 0.75
"""Exponent of power over speed: middle of the usual range, so that both speeds look alike."""

DEFAULT_LENGTHS: dict[CouponKind, tuple[float, ...]] = {
    CouponKind.POWER_SPEED: (8.0, 2.0),
    CouponKind.PITCH: (8.0, 2.0),
    CouponKind.ROW_SPAN: (24.0, 8.0, 3.0, 1.0),
    CouponKind.TOGETHER_APART: (3.0,),
    CouponKind.ONE_WAY_TWO_WAY: (16.0, 4.0, 1.5),
    CouponKind.BAR_DISTANCE: (0.5, 1.0, 1.5, 2.0, 3.0),
    CouponKind.TIP_WIDTH: (0.8, 0.4, 0.2),
    CouponKind.SIZES: (12.0, 6.0, 3.0),
    CouponKind.SPOT_BLEED: (0.05, 0.1, 0.15, 0.2, 0.3, 0.4),
    CouponKind.SCORE_DEPTH: (7.0,),
    CouponKind.FIELD_SCALE: (),
    CouponKind.RASTERED_INTERLEAVED: (6.0,),
    CouponKind.OWN_ROWS: (8.0, 2.0),
    CouponKind.REPEATS: (8.0, 2.0),
    CouponKind.FIRST_ROW: (1.2,),
    CouponKind.GREY_STEPS: (2.5,),
    CouponKind.FOCUS_STEPS: (0.25,),
    CouponKind.BLADES: (16.0, 1.0, 36.0),
}
"""Lengths that vary within a layer, mm; the gauge of the field is as large as its plate. Blades
have the width of both ends, and their length; the stair of focus-steps has the rise of a step."""

_PITCHES = (0.06, 0.08, 0.1, 0.125, 0.16)

_FACTORS = {
    CouponKind.PITCH: (1.0,),
    CouponKind.BAR_DISTANCE: (1.0,),
    CouponKind.SPOT_BLEED: (1.0,),
    CouponKind.FIELD_SCALE: (1.0,),
    CouponKind.ONE_WAY_TWO_WAY: (0.85, 1.2),
    CouponKind.TOGETHER_APART: (0.6, 0.8, 1.0, 1.3),
    CouponKind.RASTERED_INTERLEAVED: (0.8, 1.0, 1.25),
    CouponKind.OWN_ROWS: (0.8, 1.0, 1.25, 1.56),
    CouponKind.REPEATS: (0.6, 1.0),
    CouponKind.FIRST_ROW: (1.0,),
    CouponKind.FOCUS_STEPS: (1.0,),
    CouponKind.GREY_STEPS: (0.4, 0.6, 0.8, 1.0, 1.25, 1.5),
    CouponKind.BLADES: (0.8, 1.0, 1.25),
}
"""Powers as factors of the known one; three of other kinds, a visible step apart."""

_REPEATS = (1, 2, 3)

_MORE_FOR_OWN_ROWS = 1.25
"""Factor of the power that own rows in rounds need for the heat of a raster, about."""

_TWO_SPEEDS = frozenset({CouponKind.POWER_SPEED, CouponKind.SCORE_DEPTH})


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponOverrides:
    """The user's choices instead of the defaults; an empty one means the default.

    `layers` are complete settings of layers A, B, C, … instead of powers, speeds and pitches.
    `lengths` vary within a layer; `room` is the usable part of the field, around its middle; in mm.
    `crosses` are drawn for a photo; `depth` marks the first of several blades at half the pitch.
    `form` is that in which the recipe interleaves, if it does.
    """

    layers: tuple[Settings, ...] = ()
    powers: tuple[float, ...] = ()
    speeds: tuple[float, ...] = ()
    pitches: tuple[float, ...] = ()
    lengths: tuple[float, ...] = ()
    room: tuple[float, float] | None = None
    crosses: bool = False
    depth: bool = False
    form: Form | None = None


def over(asked: CouponOverrides, usual: CouponOverrides) -> CouponOverrides:
    """The user's choices, completed by others where they are empty."""
    chosen = {
        each.name: getattr(asked, each.name)
        for each in fields(CouponOverrides)
        if getattr(asked, each.name)
    }
    return replace(usual, **chosen)


def layer_settings(
    kind: CouponKind, bench: Bench, wanted: Mapping[Operation, Settings], asked: CouponOverrides
) -> tuple[Settings, ...]:
    """The settings of layers A, B, C, … of a coupon.

    Raises:
        Refusal: no speed or no pitch is known, or the machine cannot be set to a power.
    """
    refuse_unsettable(asked.powers, bench)
    base = _base(kind, bench, wanted, asked)
    speeds = asked.speeds or _speeds(kind, base, bench)
    pairs = [
        (power, speed)
        for speed in speeds
        for power in _powers(kind, bench, base, asked, (speed, speeds[0]))
    ]
    pairs = list(dict.fromkeys((settable_power(p, bench), speed) for p, speed in pairs))
    repeats = base.repeats or 1
    if kind in OWN_ROW_KINDS:
        return tuple(_with_own_rows(kind, bench, base, asked, pairs))
    if kind in SCORED_KINDS:
        pitch = asked.pitches[0] if asked.pitches else None  # which will be refused
        scored = Settings(pitch=pitch, repeats=repeats, extra=base.extra)
        return tuple(replace(scored, power=p, speed=v) for p, v in pairs)
    pitches = asked.pitches or (_PITCHES if kind is CouponKind.PITCH else (_pitch(base, asked),))
    ways = tuple(Direction) if kind is CouponKind.ONE_WAY_TWO_WAY else (base.direction,)
    times = _REPEATS if kind is CouponKind.REPEATS else (repeats,)
    rows = Settings(angle=0.0, extra=base.extra)
    layers = tuple(
        replace(rows, power=p, speed=v, pitch=pitch, direction=way, repeats=n)
        for (p, v), n, pitch, way in product(pairs, times, pitches, ways)
    )
    return _denser(layers) if asked.depth else layers


def _denser(layers: tuple[Settings, ...]) -> tuple[Settings, ...]:
    """The layer of least power at half its pitch: it tells how deep the light goes."""
    least = min(layers, key=lambda one: one.power or 0.0)
    return tuple(
        replace(one, pitch=(one.pitch or 0.0) / 2) if one is least else one for one in layers
    )


def own_rows_of(
    kind: CouponKind, bench: Bench, wanted: Mapping[Operation, Settings], asked: CouponOverrides
) -> OwnRows | None:
    """The own rows of a kind that has some: the usual pitch, every k-th row 0.4 mm apart first."""
    if kind not in OWN_ROW_KINDS:
        return None
    base = _base(kind, bench, wanted, asked)
    pitch = _pitch(base, asked)
    return OwnRows(
        pitch=pitch,
        rounds=usual_rounds(pitch),
        direction=base.direction or Direction.ONE_WAY,
        form=_form(kind, bench, asked),
    )


def _form(kind: CouponKind, bench: Bench, asked: CouponOverrides) -> Form:
    """Strips where the recipe has them, and where the software sweeps path by path.

    A leaf has one colour, which other software would sweep as one.
    """
    by_path = bench.machine_or_default.raster_groups is RasterGroups.EACH_PATH
    strips = kind is CouponKind.RASTERED_INTERLEAVED and by_path and asked.form is Form.STRIPS
    return Form.STRIPS if strips else Form.OWN_ROWS


def _with_own_rows(
    kind: CouponKind,
    bench: Bench,
    base: Settings,
    asked: CouponOverrides,
    pairs: Sequence[tuple[float, float]],
) -> Iterator[Settings]:
    """Layers of own rows; beside rastered ones, those and one of more power."""
    plain = Settings(repeats=1, extra=base.extra)
    if kind is CouponKind.RASTERED_INTERLEAVED:
        swept = replace(plain, pitch=_pitch(base, asked), direction=base.direction, angle=0.0)
        yield from (replace(swept, power=p, speed=v) for p, v in pairs)
        power, speed = pairs[-1]
        more = min(_MORE_FOR_OWN_ROWS * power, bench.machine_or_default.power.to)
        pairs = [*pairs, (settable_power(more, bench), speed)]
    yield from (replace(plain, power=p, speed=v) for p, v in dict.fromkeys(pairs))


def in_marking_order(layers: Iterable[Settings]) -> tuple[Settings, ...]:
    """Layers from the least heat to the most: least power, then higher speed, then wider pitch.

    Letters, colours and the file follow this order, so that software which marks in the order of
    the file does the harmless layers first. Own rows, which have no pitch, stay cooler than swept
    ones of the same power.
    """

    def heat(one: Settings) -> tuple[float, float, float]:
        return one.power or 0.0, -(one.speed or 0.0), -(one.pitch or math.inf)

    return tuple(sorted(layers, key=heat))


def label_settings(
    bench: Bench, wanted: Mapping[Operation, Settings], layers: Sequence[Settings]
) -> Settings:
    """Score settings of the recipe for the labels, else those of the first, lowest layer."""
    said = wanted.get(Operation.SCORE, Settings())
    power = said.power if said.power is not None else layers[0].power
    speed = said.speed if said.speed is not None else layers[0].speed
    extra = said.extra or layers[0].extra
    return Settings(power=settable_power(power or 0.0, bench), speed=speed, repeats=1, extra=extra)


def _base(
    kind: CouponKind, bench: Bench, wanted: Mapping[Operation, Settings], asked: CouponOverrides
) -> Settings:
    """Settings of the recipe, completed from the reference patch."""
    scored = kind in SCORED_KINDS
    base = wanted.get(Operation.SCORE if scored else Operation.ENGRAVE, Settings())
    known = bench.filament.reference if bench.filament else None
    if known is not None and not scored:
        even = {name: getattr(known, name) for name in ("power", "speed", "pitch", "direction")}
        base = base.over(Settings(**even))
    if base.speed is None and not asked.speeds:
        what = "score" if scored else "engrave"
        raise Refusal(
            f"no speed is known to {what} with",
            f"give it in the recipe, settings: {{{what}: {{speed: 900 mm/s}}}}, or with --speeds",
        )
    return replace(base, direction=base.direction or Direction.ONE_WAY)


def _pitch(base: Settings, asked: CouponOverrides) -> float:
    if asked.pitches:
        return asked.pitches[0]
    if base.pitch is None:
        raise Refusal(
            "no pitch is known",
            "give it in the recipe, settings: {engrave: {pitch: 0.1 mm}}, or with --pitches",
        )
    return base.pitch


def _speeds(kind: CouponKind, base: Settings, bench: Bench) -> tuple[float, ...]:
    speed = base.speed or 0.0
    if kind not in _TWO_SPEEDS:
        return (speed,)
    slowest = bench.machine.speed.from_ if bench.machine else 0.0
    other = speed / 2 if speed / 2 >= slowest else 2 * speed
    return (speed, settable_speed(other, bench))


def _powers(
    kind: CouponKind,
    bench: Bench,
    base: Settings,
    asked: CouponOverrides,
    speeds: tuple[float, float],
) -> tuple[float, ...]:
    if asked.powers:
        return asked.powers
    speed, first = speeds
    scale = (speed / first) ** _EXPONENT
    factors = _FACTORS.get(kind, (0.7, 1.0, 1.4))
    if base.power is None:
        guess = None if kind in SCORED_KINDS else estimated_power(bench, replace(base, speed=first))
        usual = _FROM_LOW if guess is None else tuple(guess * factor for factor in POWER_FACTORS)
        return tuple(scale * power for power in (usual[:1] if len(factors) == 1 else usual))
    if kind is CouponKind.POWER_SPEED and not (bench.filament and bench.filament.reference):
        factors = POWER_FACTORS  # without grades the power is a guess
    return tuple(base.power * scale * factor for factor in factors)
