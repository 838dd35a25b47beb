"""Settings of one layer, as a person types them into the laser software."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Annotated, ClassVar, Self

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import Angle, Pitch, Share, Speed


class Operation(StrEnum):
    """Operation of the beam on a shape."""

    ENGRAVE = "engrave"
    SCORE = "score"
    CUT = "cut"
    GUIDE = "guide"


class Direction(StrEnum):
    """Rows all in one direction with a dark fly-back, or alternating."""

    ONE_WAY = "one-way"
    TWO_WAY = "two-way"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings(Declared):
    """Settings of one operation or layer; missing ones come from the operation's default.

    Names that the machine file declares under `extra_settings` may stand beside these keys.
    """

    free: ClassVar[str | None] = "extra"

    power: Annotated[Share | None, Gt(0), Le(1), Doc("share of the machine's rated power")] = None
    speed: Annotated[Speed | None, Gt(0), Doc("speed of the beam along the row or line")] = None
    pitch: Annotated[Pitch | None, Gt(0), Doc("distance between neighbouring rows")] = None
    direction: Annotated[Direction | None, Doc("rows one-way or two-way")] = None
    angle: Annotated[
        Angle | None, Doc("direction of the rows, counter-clockwise from +x on the page as seen")
    ] = None
    repeats: Annotated[int | None, Ge(1), Doc("number of times the layer is marked")] = None
    extra: tuple[tuple[str, str], ...] = ()

    def over(self, default: Self) -> Self:
        """These settings, with missing ones filled in from `default`."""
        missing = {
            f.name: getattr(default, f.name) for f in fields(self) if getattr(self, f.name) is None
        }
        extra = tuple(sorted({**dict(default.extra), **dict(self.extra)}.items()))
        return replace(self, **missing, extra=extra)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Shapes that are marked alike.

    `operation` None: areas are engraved and lines scored. `settings` holds the settings of each
    operation. `shares` are the powers of levels 1…N as shares of the layer's own power; empty
    without levels. `plain_share` is the same for engraved areas without a level; None until their
    power is solved. `order` is the marking order of the levels if not from first to last.
    """

    name: str
    operation: Operation | None
    settings: dict[Operation, Settings]
    shares: tuple[float, ...] = ()
    plain_share: float | None = None
    order: tuple[int, ...] = ()

    def of(self, operation: Operation) -> Settings:
        """The settings of shapes of this layer under an operation; fields may be None."""
        return self.settings.get(operation, Settings())
