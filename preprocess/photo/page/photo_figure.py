"""A photo from straight above, with the drawing's outlines over it, to stand in a page."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_area
from preprocess.photo.finding.camera_map import apply_homography
from preprocess.photo.finding.sampling import sample_image
from preprocess.photo.libraries import library
from preprocess.preview.drawing.canvas import Paint, Viewport, mm, path, svg_text, text
from preprocess.preview.drawing.html import inline_svg

if TYPE_CHECKING:
    from collections.abc import Mapping

    from markupsafe import Markup

    from preprocess.geometry.base.bounds import Bounds
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

_WIDE = 900
"""Pixels across a photo in a page."""

_QUALITY = 82
_OVER, _UNDER = Paint(stroke="#ffffff", width=0.3), Paint(stroke="#c2185b", width=0.15)


def photo_figure(
    picture: Any,
    reading: PhotoReading,
    drawing: MarkedDrawing,
    labels: Mapping[str, tuple[float, float]],
    prefix: str,
) -> Markup:
    """The photo of a part with outlines and labels (by place, mm): an image that holds its pixels.

    Args:
        picture: rows × columns × 3 bytes.
        reading: how it lies on the drawing.
        drawing: what was marked.
        labels: words and where they begin, in the coordinates of the drawing.
        prefix: for ids, another one for each figure of a page.
    """
    box = _shown_box(drawing)
    left, top, right, bottom = box
    size = (right - left, bottom - top)
    view = Viewport(scale=1.0, origin=(left, top), corner=(0.0, 0.0))
    outlines = as_area([drawing.areas, *shapely.get_parts(drawing.lines.buffer(0.06))])
    pixels = _from_above(picture, reading, box)
    lines = [f'<image width="{mm(size[0])}" height="{mm(size[1])}" href="{pixels}"/>']
    for paint in (_OVER, _UNDER):
        lines += path(view.data(outlines), paint)
    for words, (x, y) in labels.items():
        lines.append(text(x - left, y - top, words, size=2.2, bold=True))
    title = f"{reading.photo.name} from above, with the outlines of the drawing"
    return inline_svg(svg_text(title, lines, size), prefix)


def _shown_box(drawing: MarkedDrawing) -> Bounds:
    if drawing.part.is_empty:
        return drawing.box
    left, top, right, bottom = drawing.part.bounds
    return left - 1.0, top - 1.0, right + 1.0, bottom + 1.0


def _from_above(picture: Any, reading: PhotoReading, box: Bounds) -> str:
    """The pixels as a data address, JPEG."""
    px = _WIDE / (box[2] - box[0])
    x = box[0] + (np.arange(_WIDE) + 0.5) / px
    y = box[1] + (np.arange(max(1, round((box[3] - box[1]) * px))) + 0.5) / px
    places = np.stack(np.meshgrid(x, y), axis=-1)
    on_page = apply_homography(reading.place.map, places.reshape(-1, 2))
    pixels = reading.camera.pixels(on_page).reshape(places.shape)
    codes = np.clip(np.round(sample_image(picture, pixels)), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    library("PIL.Image").fromarray(codes).save(out, "JPEG", quality=_QUALITY)
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode()
