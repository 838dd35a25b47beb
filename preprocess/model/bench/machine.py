"""The machine at the bench, and how its software treats a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from enum import StrEnum
from typing import Annotated, ClassVar

from annotated_types import Ge, Gt, Le, Lt

from preprocess.model.bench.anchors import Anchors
from preprocess.model.bench.extra_settings import ExtraSetting
from preprocess.model.declared import Declared, Doc
from preprocess.units import Acceleration, Length, Pitch, Power, Share, Speed, Time

_ON_STEP = 1e-9
"""Share of a step by which a value may miss it and still stand on it."""


class Mover(StrEnum):
    """Motion of the beam: by mirrors or axes."""

    GALVO = "galvo"
    GANTRY = "gantry"


class RasterGroups(StrEnum):
    """Scope of a sweep: areas that the software sweeps together."""

    EACH_PATH = "each-path"
    EACH_COLOUR = "each-colour"


class Gaps(StrEnum):
    """Crossing of blank gaps inside a row."""

    SWEPT = "swept"
    JUMPED = "jumped"


class FirstRow(StrEnum):
    """Start of the rows of a group."""

    EDGE = "edge"
    HALF_PITCH = "half-pitch"
    PAGE = "page"


class PaletteOrder(StrEnum):
    """In which order the software marks colours."""

    AS_LISTED = "as-listed"
    AS_DRAWN = "as-drawn"


class Steps(Declared):
    """Equal steps from a lowest to a highest value: what a machine can be set to."""

    __slots__ = ()
    from_: float
    to: float
    step: float

    @property
    def count(self) -> int:
        """Number of values; a last step that would pass the highest one is left out."""
        return int((self.to - self.from_) / self.step + _ON_STEP) + 1

    def holds(self, value: float) -> bool:
        """Test whether a value lies within the range, be it on a step or between two."""
        return self.from_ <= value <= self.to

    def nearest(self, value: float) -> float:
        """The settable value nearest to one."""
        return self._value(round((value - self.from_) / self.step))

    def at_most(self, value: float) -> float:
        """The highest settable value that is not above one; the lowest of all if there is none."""
        return self._value(math.floor((value - self.from_) / self.step + _ON_STEP))

    def at_least(self, value: float) -> float:
        """The lowest settable value that is not below one; the highest of all if there is none."""
        return self._value(math.ceil((value - self.from_) / self.step - _ON_STEP))

    def _value(self, number: int) -> float:
        return round(self.from_ + min(max(number, 0), self.count - 1) * self.step, 9)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerSteps(Steps):
    """Powers that the machine can be set to."""

    from_: Annotated[Share, Ge(0), Le(1), Doc("lowest power")] = 0.01
    to: Annotated[Share, Gt(0), Le(1), Doc("highest power")] = 1.0
    step: Annotated[Share, Gt(0), Doc("smallest difference between two powers")] = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedSteps(Steps):
    """Speeds that the machine can be set to."""

    from_: Annotated[Speed, Gt(0), Doc("lowest speed")] = 1.0
    to: Annotated[Speed, Gt(0), Doc("highest speed")] = 2500.0
    step: Annotated[Speed, Gt(0), Doc("smallest difference between two speeds")] = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GreyIntervals(Declared):
    """Intervals that hold each fitted figure of the greys with a probability of 90 %."""

    from_: Annotated[tuple[Share, Share] | None, Ge(0), Doc("power beside white")] = None
    to: Annotated[tuple[Share, Share] | None, Gt(0), Doc("power at black")] = None
    gamma: Annotated[tuple[float, float] | None, Gt(0), Doc("curve between them")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Grey(Declared):
    """How the software turns the greys of an image into power; white is not marked.

    The power of a grey is from + (to − from) · darkness ^ gamma. Black has darkness 1, the grey
    beside white 0.
    """

    from_: Annotated[Share, Ge(0), Lt(1), Doc("power of the grey beside white")]
    to: Annotated[Share, Gt(0), Le(1), Doc("power of black")]
    gamma: Annotated[float, Gt(0), Le(10), Doc("curve of the power between the two: 1 is straight")]
    resolution: Annotated[
        Pitch | None,
        Gt(0),
        Doc("width of a pixel along its row; without it as wide as rows are apart"),
    ] = None
    intervals: Annotated[GreyIntervals | None, Doc("90 % intervals of the fitted figures")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine(Declared):
    """One machine. Everything but the name may be missing; each absence turns off named checks."""

    retired: ClassVar[tuple[str, ...]] = ("importer_unit",)

    machine: Annotated[int, Doc("version of this file's format: 1")] = 1
    name: Annotated[str, Doc("name of the machine")] = "unnamed machine"
    field: Annotated[
        tuple[Length, Length] | None, Doc("width and height that the beam can reach")
    ] = None
    field_origin: Annotated[
        tuple[Length, Length] | None,
        Doc("upper left corner of the field on the page; else it is centred on the part"),
    ] = None
    mover: Annotated[Mover, Doc("galvo (mirrors) or gantry (axes)")] = Mover.GALVO
    spot: Annotated[Length | None, Gt(0), Doc("beam diameter at focus, 1/e²")] = None
    wavelength: Annotated[Length | None, Gt(0), Doc("wavelength, for the depth of focus")] = None
    focal_length: Annotated[
        Length | None, Gt(0), Doc("of the field lens, for its telecentric error")
    ] = None
    turnaround: Annotated[Time | None, Ge(0), Doc("dead time between two rows of a galvo")] = None
    acceleration: Annotated[
        Acceleration | None, Gt(0), Doc("of a gantry: gives its turnaround")
    ] = None
    overscan: Annotated[
        Length | None,
        Ge(0),
        Doc("of a gantry: way that its software adds by itself at both ends of every row"),
    ] = None
    fly_back: Annotated[Speed | None, Gt(0), Doc("speed of the dark way back of one-way rows")] = (
        None
    )
    rated_power: Annotated[Power | None, Gt(0), Doc("optical power at 100 %")] = None
    power_offset: Annotated[
        Share, Ge(0), Lt(1), Doc("power below which there is no light; above it light is even")
    ] = 0.0
    power_ramp: Annotated[
        Time, Ge(0), Doc("in which the light rises to the full where a row or line begins")
    ] = 0.0
    laser_on_delay: Annotated[
        Time, Ge(0), Doc("by which the light comes late where a row or line begins")
    ] = 0.0
    power: Annotated[PowerSteps, Doc("powers that can be set")] = PowerSteps()
    speed: Annotated[SpeedSteps, Doc("speeds that can be set")] = SpeedSteps()
    grey: Annotated[
        Grey | None, Doc("how its software turns the greys of an image into power, if it can")
    ] = None
    raster_groups: Annotated[RasterGroups, Doc("which areas its software sweeps together")] = (
        RasterGroups.EACH_PATH
    )
    gaps: Annotated[Gaps, Doc("how blank gaps inside a row are crossed")] = Gaps.SWEPT
    first_row: Annotated[FirstRow, Doc("where the rows of a group begin")] = FirstRow.EDGE
    palette: Annotated[
        tuple[str, ...] | None,
        Doc("colours that its software knows, in the order of its slots: ['#112233', …]"),
    ] = None
    palette_order: Annotated[
        PaletteOrder, Doc("colours are marked as-listed in the palette, or as-drawn in the file")
    ] = PaletteOrder.AS_DRAWN
    anchors: Annotated[
        bool | Anchors,
        Doc("two marks in one place in all files, unless the recipe says"),
    ] = False
    extra_settings: Annotated[
        dict[str, ExtraSetting] | None,
        Doc("further settings of its software, which settings: may then name: frequency, lens, …"),
    ] = dataclass_field(default=None, hash=False)
    layer_pause: Annotated[Time, Ge(0), Doc("pause between two layers")] = 0.0
    max_layers: Annotated[int | None, Ge(1), Doc("most colour layers that its software takes")] = (
        None
    )
    max_points: Annotated[int | None, Ge(3), Doc("most points that its software takes")] = None
