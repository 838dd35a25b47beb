"""A picture of one side that needs no script: the index of all that is marked, glowing on dark."""

from __future__ import annotations

import base64
import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from markupsafe import Markup, escape

from preprocess.geometry.overlay.booleans import union
from preprocess.playback.page.glow import GLOW_STEPS, glow_ramp
from preprocess.preview.drawing.canvas import Paint, Viewport, mm, path
from preprocess.write.svg.png_bytes import palette_png_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import PaletteCells
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.model.artwork.artwork import Artwork

STAGE = "#14161a"
_PIXELS = 40_000
"""Of the index at most; a cell is never smaller than the cells of the index."""

_LONGEST = 60_000
"""Characters of outlines; art with more of them glows without."""

_EDGE, _ART = "#8b939e", "#5f6873"
_WIDE = 100.0
"""Width of the picture in its own units, so that lines are equally thick on all jobs."""


def still_picture(
    artwork: Artwork, images: Sequence[IndexImage], box: Bounds, top: float, words: str
) -> Markup:
    """The picture of a window `box` (mm); `top` is the index at the bright end of the scale."""
    x0, y0, x1, y1 = box
    scale = _WIDE / (x1 - x0)
    high = mm(scale * (y1 - y0))
    view = Viewport(scale=scale, origin=(x0, y0), corner=(0.0, 0.0))
    lines = [f'<rect width="{mm(_WIDE)}" height="{high}" fill="{STAGE}"/>']
    lines += _image(images, box, top, scale)
    for geometry, colour in ((_engraved(artwork), _ART), (_parts(artwork), _EDGE)):
        data = " ".join(view.data(part) for part in shapely.get_parts(geometry))
        if 0 < len(data) <= _LONGEST:
            lines += path(data, Paint(stroke=colour, width=0.15))
    return Markup(  # noqa: S704 - numbers of our own, and words that are escaped
        f'<svg role="img" aria-label="{escape(words)}" viewBox="0 0 {mm(_WIDE)} {high}">'
        f"{''.join(lines)}</svg>"
    )


def _image(images: Sequence[IndexImage], box: Bounds, top: float, scale: float) -> list[str]:
    lit = [image for image in images if image.lit.any()]
    if not lit:
        return []
    cells, size = glow_cells(lit, box, top)
    data = base64.b64encode(palette_png_bytes(cells, glow_ramp())).decode()
    wide, high = (mm(scale * size * count) for count in reversed(cells.shape))
    size_of = f'width="{wide}" height="{high}" preserveAspectRatio="none"'
    return [f'<image {size_of} href="data:image/png;base64,{data}"/>']


def glow_cells(images: Sequence[IndexImage], box: Bounds, top: float) -> tuple[PaletteCells, float]:
    """Numbers of colours of a window, rows × columns, 0 where nothing is lit, and the cells' mm."""
    x0, y0, x1, y1 = box
    size = max(
        math.sqrt((x1 - x0) * (y1 - y0) / _PIXELS),
        *(1.001 * step for image in images for step in _steps(image)),
    )
    cells = np.zeros((math.ceil((y1 - y0) / size), math.ceil((x1 - x0) / size)), np.uint8)
    for image in images:
        x, y = (axis[image.lit] for axis in image.points)
        column, row = np.floor((x - x0) / size).astype(int), np.floor((y - y0) / size).astype(int)
        inside = (column >= 0) & (row >= 0) & (row < cells.shape[0]) & (column < cells.shape[1])
        step = np.clip(np.rint(image.index[image.lit] / top * (GLOW_STEPS - 1)), 1, GLOW_STEPS - 1)
        np.maximum.at(cells, (row[inside], column[inside]), step[inside].astype(np.uint8))
    return cells, size


def _steps(image: IndexImage) -> list[float]:
    """Width and height of a cell; rounds leave rows between theirs to others."""
    if len(image.u) < 2:  # noqa: PLR2004 - one column tells no width
        return [math.sqrt(image.cell)]
    wide = float(image.u[1] - image.u[0])
    return [wide, image.cell / wide]


def _engraved(artwork: Artwork) -> shapely.MultiPolygon:
    return union([shape.geometry for shape in artwork.shapes if shape.is_engraved_area])


def _parts(artwork: Artwork) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([one for part in artwork.parts for one in part.geoms])
