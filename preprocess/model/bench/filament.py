"""A material profile: one filament on one machine."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any

from annotated_types import Ge, Gt, Le

from preprocess.model.artwork.settings import Direction
from preprocess.model.declared import Declared, Doc
from preprocess.units import Conductivity, Density, HeatCapacity, Length, Pitch, Share, Speed


class MarkTone(StrEnum):
    """Contrast of the mark: lighter or darker than the plastic around it."""

    LIGHTER = "lighter"
    DARKER = "darker"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference(Declared):
    """The patch that was graded even: the heat index is 1 there."""

    size: Annotated[tuple[Length, Length], Doc("width along the rows, and height")] = (8.0, 8.0)
    power: Annotated[Share, Gt(0), Le(1), Doc("share of the rated power")] = 0.5
    speed: Annotated[Speed, Gt(0), Doc("speed along the row")] = 900.0
    pitch: Annotated[Pitch, Gt(0), Doc("distance between rows")] = 0.1
    direction: Annotated[Direction, Doc("one-way or two-way")] = Direction.ONE_WAY


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRowsReference(Reference):
    """The patch of rows drawn as lines that was graded even: their heat index is 1 there."""

    rounds: Annotated[int, Ge(1), Doc("sweeps over every k-th row")] = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Window(Declared):
    """Limits of the heat index: below `weak` the mark is too weak, above `heavy` too heavy."""

    weak: Annotated[float, Gt(0), Doc("index below which the mark is too weak")] = 0.85
    heavy: Annotated[float, Gt(0), Doc("index above which the mark is too heavy")] = 1.2
    molten: Annotated[float | None, Gt(0), Doc("index above which the surface melts")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Intervals(Declared):
    """Intervals that hold each fitted figure with a probability of 90 %."""

    optical_depth: Annotated[tuple[Length, Length] | None, Gt(0), Doc("optical depth")] = None
    spread: Annotated[tuple[Length, Length] | None, Gt(0), Doc("spread")] = None
    speed_correction: Annotated[tuple[float, float] | None, Doc("speed correction")] = None
    bleed: Annotated[tuple[Length, Length] | None, Ge(0), Doc("bleed")] = None
    weak: Annotated[tuple[float, float] | None, Gt(0), Doc("weak end of the window")] = None
    heavy: Annotated[tuple[float, float] | None, Gt(0), Doc("heavy end of the window")] = None
    molten: Annotated[tuple[float, float] | None, Gt(0), Doc("molten end of the window")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried(Declared):
    """Range of the graded cells: beyond it the profile is a guess."""

    power: Annotated[tuple[Share, Share] | None, Gt(0), Doc("power")] = None
    speed: Annotated[tuple[Speed, Speed] | None, Gt(0), Doc("speed")] = None
    pitch: Annotated[tuple[Pitch, Pitch] | None, Gt(0), Doc("pitch")] = None
    span: Annotated[tuple[Length, Length] | None, Gt(0), Doc("row span")] = None
    feature: Annotated[
        tuple[Length, Length] | None, Gt(0), Doc("width of the finest places of a cell")
    ] = None
    size: Annotated[tuple[Length, Length] | None, Gt(0), Doc("longer side of a shape")] = None
    filament: Annotated[str | None, Doc("name of the spool that was graded")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Filament(Declared):
    """One filament; everything but the name may be missing."""

    filament: Annotated[int, Doc("version of this file's format: 1")] = 1
    name: Annotated[str, Doc("name of the spool")]
    machine: Annotated[str | None, Doc("machine that it was graded on")] = None
    polymer: Annotated[str | None, Doc("PLA, PETG, ABS, …")] = None
    mark: Annotated[
        MarkTone | None, Doc("tone of the mark against the plastic; hot places are judged by it")
    ] = None
    conductivity: Annotated[Conductivity | None, Gt(0), Doc("thermal conductivity")] = None
    density: Annotated[Density | None, Gt(0), Doc("density")] = None
    heat_capacity: Annotated[HeatCapacity | None, Gt(0), Doc("specific heat capacity")] = None
    absorbed: Annotated[Share | None, Gt(0), Le(1), Doc("absorbed share of the light")] = None
    optical_depth: Annotated[Length | None, Gt(0), Doc("depth in which the light is absorbed")] = (
        None
    )
    spread: Annotated[Length | None, Gt(0), Doc("smoothing length of the heat index")] = None
    speed_correction: Annotated[float | None, Doc("exponent c of the speed in the heat index")] = (
        None
    )
    bleed: Annotated[Length | None, Ge(0), Doc("how far the mark grows beyond the beam")] = None
    reference: Annotated[Reference | None, Doc("the patch that was graded even")] = None
    own_rows: Annotated[
        OwnRowsReference | None,
        Doc("the patch of own rows that was graded even; without it they count against reference"),
    ] = None
    window: Annotated[Window | None, Doc("limits of the heat index that was graded even")] = None
    marks_from: Annotated[
        Share | None, Ge(0), Le(1), Doc("power below which nothing shows at the reference speed")
    ] = None
    extra_settings: Annotated[
        dict[str, str] | None, Doc("the machine's extra settings with which it was graded")
    ] = field(default=None, hash=False)
    intervals: Annotated[Intervals | None, Doc("90 % intervals of the fitted figures")] = None
    tried: Annotated[Tried | None, Doc("settings and sizes of the graded cells")] = None
    trials: Annotated[tuple[Any, ...], Doc("every graded cell that led here")] = ()
