"""One painted thing: a filled area or a line, with an operation and a layer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.grey import GreyImage
    from preprocess.model.artwork.source import Selection, Source

Matrix = tuple[float, float, float, float, float, float]
"""Affine map as in SVG: x' = a x + c y + e, y' = b x + d y + f."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """Stroke of a line, in the units of its own space, and the map from there to mm.

    `within` and `without` are areas in mm that bound the painted stroke: clips and knock-outs.
    """

    width: float
    cap: str = "butt"
    join: str = "miter"
    miter_limit: float = 4.0
    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    within: MultiPolygon | None = None
    without: MultiPolygon | None = None

    @property
    def width_mm(self) -> float:
        """Painted width in mm; the geometric mean where the map stretches unevenly."""
        a, b, c, d, _, _ = self.matrix
        return self.width * abs(a * d - b * c) ** 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One path of the output: an area (MultiPolygon) or lines (MultiLineString), in mm.

    `level` is 1…N where the layer has levels, `round` 0…k − 1 where it is one of k rounds of rows,
    marked one after another. `bars` are sacrificial areas that are swept
    together with the shape; they are no part of `geometry`. `closed` lines are rings. Of an area
    whose power changes along its rows, `grey` holds the image, and `geometry` its lit cells.
    """

    id: str
    layer: str
    operation: Operation
    geometry: MultiPolygon | MultiLineString
    sources: tuple[Source, ...]
    level: int | None = None
    bars: MultiPolygon | None = None
    stroke: Stroke | None = None
    round: int | None = None
    grey: GreyImage | None = None

    @property
    def is_area(self) -> bool:
        """True if the shape is an area; otherwise it is made of lines."""
        return self.geometry.geom_type == "MultiPolygon"

    @property
    def is_engraved_area(self) -> bool:
        """True if the shape is swept in rows."""
        return self.is_area and self.operation is Operation.ENGRAVE

    def matches(self, selection: Selection) -> tuple[bool, bool]:
        """Test whether (all, any) of the shape's sources match a selection."""
        hits = [source.matches(selection) for source in self.sources]
        return bool(hits) and all(hits), any(hits)


def outlined_fills(shapes: Iterable[Shape]) -> frozenset[str]:
    """Ids of lines that are strokes of a filled shape, in the very paint of its fill.

    Drawing programs leave such hair strokes around areas; they belong to the area.
    """
    held = list(shapes)
    fills = {(one.id, one.colour) for s in held if s.is_area for one in s.sources}
    return frozenset(
        s.id
        for s in held
        if not s.is_area and s.sources and all((one.id, one.colour) in fills for one in s.sources)
    )
