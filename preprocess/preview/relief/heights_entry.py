"""Heights of parts in a picture: ten bands from above, and their scale in the legend."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import cut_lines, intersection
from preprocess.model.artwork.output import output_layers
from preprocess.preview.drawing.canvas import Paint, group, path, rectangle
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.preview.relief.height_bands import bands_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.relief import Relief
    from preprocess.preview.drawing.canvas import Viewport

_EDGE = "#4d4d4d"

_CASING = 0.9
"""mm on the sheet: width of the white line round marks, half of it outside, on dark bands too."""


@dataclass(frozen=True, slots=True)
class HeightsEntry(LegendEntry):
    """Bands of height over the outline of a part; each lies on those below.

    `marks` get a white casing, so that they stand out on every band.
    """

    bands: tuple[tuple[MultiPolygon, str], ...] = ()
    marks: tuple[MultiPolygon | MultiLineString, ...] = ()

    def drawn(self, name: str, view: Viewport) -> list[str]:
        """A group with all bands, within the geometry: of a detail that is enlarged, a part."""
        lines = []
        for area, colour in self.bands:
            shown = intersection(area, self.geometry)
            if not shown.is_empty:
                lines += path(view.data(shown), Paint(fill=colour, stroke=_EDGE, width=0.05))
        if self.geometry.is_empty:
            return []
        lines += self._casings(view)
        return group(name, self.caption, [*lines, *path(view.data(self.geometry), self.paint)])

    def _casings(self, view: Viewport) -> list[str]:
        paint = Paint(stroke="#ffffff", width=_CASING)
        within = as_area(self.geometry)
        shown = [
            (intersection if marks.geom_type == "MultiPolygon" else cut_lines)(marks, within)
            for marks in self.marks
        ]
        return [line for one in shown if not one.is_empty for line in path(view.data(one), paint)]

    def swatch(self, x: float, y: float, width: float, height: float) -> list[str]:
        """The scale: a step to each band, the lowest on the left."""
        step = width / len(self.bands)
        return [
            line
            for number, (_, colour) in enumerate(self.bands)
            for line in path(rectangle(x + number * step, y, step, height), Paint(fill=colour))
        ]


def heights_entries(artwork: Artwork, reliefs: Sequence[Relief | None]) -> list[LegendEntry]:
    """An entry to each part with a model, wherever its copies lie."""
    found: list[LegendEntry] = []
    for number, relief in enumerate(reliefs):
        poses = [pose for pose in artwork.poses[number :: len(reliefs)] if pose is not None]
        if relief is not None and poses:
            found.append(_entry(relief, poses, artwork))
    return found


def _entry(relief: Relief, poses: Sequence[Matrix], artwork: Artwork) -> LegendEntry:
    bands = bands_of(relief)
    words = (
        f"heights from the model, {bands[0].low:.2f} mm (dark) to {bands[-1].high:.2f} mm (light); "
        f"marked surface {relief.plane:.2f} mm up"
    )
    return HeightsEntry(
        Section.PLACE,
        _copies(relief.outline, poses),
        Paint(stroke=_EDGE, width=0.35),
        words,
        bands=tuple((_copies(band.area, poses), band.colour) for band in bands),
        marks=tuple(shape.geometry for output in output_layers(artwork) for shape in output.shapes),
    )


def _copies(area: MultiPolygon, poses: Sequence[Matrix]) -> MultiPolygon:
    laid = [apply_affine(area, pose) for pose in poses]
    return MultiPolygon(shapely.get_parts(laid).tolist())
