"""The printed part that carries the mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt

from preprocess.model.declared import Declared, Doc
from preprocess.units import Angle, Length


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintLines(Declared):
    """Lines that the printer left in the surface."""

    angle: Annotated[Angle, Doc("their direction, counter-clockwise from +x as seen")] = 0.0
    spacing: Annotated[Length, Gt(0), Doc("distance between them")] = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Declared):
    """One printed part: an outline in the drawing, or a rectangle centred on the page."""

    outline: Annotated[
        str | tuple[Length, Length],
        Doc("silhouette: quoted CSS selector ('#label-edge'), or [width, height]"),
    ]
    thickness: Annotated[Length | None, Gt(0), Doc("of the plastic under the mark")] = None
    height: Annotated[Length, Ge(0), Doc("of the marked surface above the bed")] = 0.0
    height_range: Annotated[Length, Ge(0), Doc("how much the marked surface rises and falls")] = 0.0
    filament: Annotated[
        str | None, Doc("what it is printed of, where the profile is of another spool")
    ] = None
    print_lines: Annotated[PrintLines | None, Doc("lines that the printer left in the surface")] = (
        None
    )
