"""Pictures of a job's maps: measured, predicted and left over, in one scale."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.libraries import library
from preprocess.preview.drawing.canvas import INK, Paint, mm, path, rectangle, svg_text, text
from preprocess.preview.drawing.html import inline_svg
from preprocess.preview.heat_map.colour_ramp import ramp
from preprocess.units import digits

if TYPE_CHECKING:
    from markupsafe import Markup

    from preprocess.arrays import Floats
    from preprocess.photo.measured import MeasuredJob

_COLOURS = 64
_LEAST = 1.0
"""ΔL* to each side of the middle that the scale shows at least."""

_LEGEND = 60.0, 11.0


def map_figures(job: MeasuredJob, heat: Floats) -> list[tuple[Markup, str]]:
    """Three maps with their captions, and the scale that they share.

    `heat` is the tone that heat adds at each place, ΔL*, rows × columns.
    """
    away = job.tone - float(np.nanmedian(job.tone))
    reach = max(float(np.nanquantile(np.abs(away), 0.98)), _LEAST)
    shown = (
        (away, "Measured"),
        (heat, "Follows the predicted heat"),
        (away - heat, "Left over"),
    )
    figures = [
        (_map(values, job, reach, f"m{number}", title), title)
        for number, (values, title) in enumerate(shown)
    ]
    return [*figures, (_legend(reach), "ΔL* from the middle: the same scale for all three")]


def _map(values: Floats, job: MeasuredJob, reach: float, prefix: str, title: str) -> Markup:
    high, wide = values.shape
    size = (wide * job.step, high * job.step)
    colours = np.array([[int(c[n : n + 2], 16) for n in (1, 3, 5)] for c in ramp(_COLOURS)])
    share = np.clip((np.nan_to_num(values) / reach + 1) / 2, 0, 1)
    pixels = np.full((high, wide, 4), 255, np.uint8)
    pixels[..., :3] = colours[np.round(share * (_COLOURS - 1)).astype(int)]
    pixels[..., 3] = np.where(np.isfinite(values), 255, 0)
    out = io.BytesIO()
    library("PIL.Image").fromarray(pixels).save(out, "PNG")
    data = "data:image/png;base64," + base64.b64encode(out.getvalue()).decode()
    lines = [
        *path(rectangle(0.0, 0.0, *size), Paint(stroke="#bbbbbb", width=0.1)),
        f'<image width="{mm(size[0])}" height="{mm(size[1])}" href="{data}"/>',
    ]
    return inline_svg(svg_text(title, lines, size), prefix)


def _legend(reach: float) -> Markup:
    colours = ramp(_COLOURS)
    pace = (_LEGEND[0] - 10.0) / _COLOURS
    lines = [
        line
        for number, colour in enumerate(colours)
        for line in path(rectangle(5.0 + number * pace, 1.0, pace, 4.0), Paint(fill=colour))
    ]
    lines += path(rectangle(5.0, 1.0, _COLOURS * pace, 4.0), Paint(stroke=INK, width=0.15))
    end = digits(round(reach, 1))
    for x, words in ((5.0, f"−{end}"), (_LEGEND[0] / 2, "0"), (_LEGEND[0] - 5.0, f"+{end}")):
        lines.append(text(x - 2.0, 9.5, words))
    return inline_svg(svg_text("Scale of the maps", lines, _LEGEND), "legend")
