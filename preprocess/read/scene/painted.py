"""Painted outlines: the result of the walk through the document."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from preprocess.geometry.lines.dashes import MAX_DASHES
from preprocess.read.style.colours import parse_colour

if TYPE_CHECKING:
    from array import array
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.geometry.lines.isolines import LinearIsolines, RadialIsolines
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.artwork.source import EnclosingGroups
    from preprocess.read.style.computed import Style


class Outline(Protocol):
    """Segments of a path, read-only; see `shapes.path_data.Path`."""

    @property
    def kinds(self) -> bytes | bytearray:
        """Letters of the segments."""

    @property
    def numbers(self) -> array[float]:
        """Their coordinates."""

    @property
    def inner(self) -> Sequence[int]:
        """Places of pieces of arcs that end where no vertex was drawn."""

    def __bool__(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class StrokeStyle:
    """Stroke properties in px of the stroke's own space; `matrix` leads to mm."""

    width: float
    cap: str
    join: str
    miter_limit: float
    matrix: Matrix
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0
    path_length: float | None = None
    most_dashes: int = MAX_DASHES


@dataclass(frozen=True, slots=True)
class GradientStop:
    """A stop: offset 0 … 1, contrast to the page -1 … 1, opacity 0 … 1."""

    offset: float
    contrast: float
    alpha: float


@dataclass(frozen=True, slots=True)
class GradientPaint:
    """A gradient: the lines that its offsets follow, its spread beyond 0 and 1, its stops.

    `colours` are those of its stops; `veil` is the opacity of the element that it paints.
    """

    course: LinearIsolines | RadialIsolines
    spread: str
    stops: tuple[GradientStop, ...]
    colours: tuple[str, ...]
    veil: float = 1.0


@dataclass(frozen=True, slots=True)
class Ink:
    """A resolved paint: #rrggbb and opacity; `shaded` where it has several colours.

    Of a gradient, `colour` is the one that stands for it, `alpha` the opacity where it is densest.
    """

    colour: str
    alpha: float = 1.0
    shaded: bool = False
    shade: GradientPaint | None = None

    def veiled(self, by: float) -> Ink:
        """The same paint under an opacity."""
        shade = replace(self.shade, veil=self.shade.veil * by) if self.shade else None
        return replace(self, alpha=self.alpha * by, shade=shade)


def ink_of(value: str, style: Style) -> Ink | None:
    """The ink of a plain colour; None for "none"."""
    if value.lower() == "none":
        return None
    current = style("color")
    found = parse_colour(value, current)
    if found == "currentcolor":
        found = parse_colour(current)
    return Ink("#000000") if found is None or isinstance(found, str) else Ink(*found)


@dataclass(frozen=True, slots=True)
class Blend:
    """Blending of a group or element with what lies under it.

    `alone` says that nothing around it is put together apart, so that artwork and page count.
    """

    mode: str
    group: str
    alone: bool


@dataclass(frozen=True, slots=True)
class PaintedOutline:
    """An outline in user units that is filled, or stroked where it has a pen, with one ink.

    `name` is the element's id or its path of positions; `ink` is None where nothing is painted.
    """

    name: str
    line: int | None
    enclosing: EnclosingGroups
    selectors: frozenset[str]
    path: Outline
    matrix: Matrix
    ink: Ink | None = None
    rule: str = "nonzero"
    pen: StrokeStyle | None = None
    clip: MultiPolygon | None = None
    hidden: bool = False
    blend: Blend | None = None

    @property
    def label(self) -> str | None:
        """Label or id of the nearest group that has one."""
        return self.enclosing.nearest
