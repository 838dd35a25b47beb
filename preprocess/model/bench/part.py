"""The printed part that carries the mark."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt, Lt

from preprocess.model.declared import Declared, Doc
from preprocess.units import Angle, Length


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintLines(Declared):
    """Lines that the printer left in the surface."""

    angle: Annotated[Angle, Doc("their direction, counter-clockwise from +x as seen")] = 0.0
    spacing: Annotated[Length, Gt(0), Doc("distance between them")] = 0.4


class Up(StrEnum):
    """Direction of the model that looks to the beam; `face` is its largest flat face."""

    Z = "+z"
    MINUS_Z = "-z"
    X = "+x"
    MINUS_X = "-x"
    Y = "+y"
    MINUS_Y = "-y"
    FACE = "face"


class ModelUnit(StrEnum):
    """Unit in which an STL file is drawn; a 3MF names its own."""

    MM = "mm"
    CM = "cm"
    M = "m"
    INCH = "inch"


class PageCentre(StrEnum):
    """The middle of the page, by its name."""

    PAGE = "page"


class Corner(StrEnum):
    """A corner of the part's box as seen on the page."""

    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"
    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlace(Declared):
    """Where the model lies on the drawing: under its outline, by its centre, or by a corner."""

    outline: Annotated[
        str | None, Doc("outline of the part in the drawing that the model is laid under")
    ] = None
    centre: Annotated[
        PageCentre | tuple[Length, Length] | None,
        Doc("place of the middle of its box: page, or [x, y] from the page's upper left"),
    ] = None
    corner: Annotated[Corner | None, Doc("corner of its box that lies at the point on:")] = None
    on: Annotated[
        tuple[Length, Length] | None, Doc("that point, [x, y] from the page's upper left")
    ] = None
    turn: Annotated[
        Angle | None, Doc("how far the part is turned, counter-clockwise; with outline, about")
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Declared):
    """One printed part: an outline in the drawing, a rectangle, or the model of the print."""

    outline: Annotated[
        str | tuple[Length, Length] | None,
        Doc("silhouette: quoted CSS selector ('#label-edge'), or [width, height]"),
    ] = None
    model: Annotated[
        str | None, Doc("STL or 3MF file: gives outline, height, height_range and thickness")
    ] = None
    up: Annotated[
        Up, Doc("side of the model that looks to the beam; face needs a printed tray")
    ] = Up.Z
    at: Annotated[
        Length | None, Gt(0), Doc("height of the marked surface, where the model has several")
    ] = None
    unit: Annotated[ModelUnit | None, Doc("unit in which an STL is drawn; mm unless given")] = None
    body: Annotated[str | None, Doc("body of a 3MF; all that are printed unless given")] = None
    place: Annotated[
        PartPlace, Doc("where the model lies; on the middle of the page by default")
    ] = PartPlace()
    guides: Annotated[
        str | None, Doc("quoted CSS selector of what shows the part in the drawing; never marked")
    ] = None
    in_focus: Annotated[
        Length | None,
        Gt(0),
        Doc("distance up and down within which marks stay even; from the machine unless given"),
    ] = None
    slant: Annotated[
        Angle, Gt(0), Lt(90), Doc("lean beyond which a surface is too slanted to mark")
    ] = 15.0
    keep_off: Annotated[
        bool, Doc("keep off what is too high, too deep or too slanted; false: tell of it only")
    ] = True
    thickness: Annotated[Length | None, Gt(0), Doc("of the plastic under the mark")] = None
    height: Annotated[Length, Ge(0), Doc("of the marked surface above the bed")] = 0.0
    height_range: Annotated[Length, Ge(0), Doc("how much the marked surface rises and falls")] = 0.0
    filament: Annotated[
        str | None, Doc("what it is printed of, where the profile is of another spool")
    ] = None
    print_lines: Annotated[PrintLines | None, Doc("lines that the printer left in the surface")] = (
        None
    )

    @property
    def drawn(self) -> str | None:
        """The selector of its outline in the drawing; None where it is not drawn."""
        return self.outline if isinstance(self.outline, str) else self.place.outline
