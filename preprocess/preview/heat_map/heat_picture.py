"""The heat index drawn: colours from cool to hot, and the window's limits as lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.marking.job.plan import RasterGroup
from preprocess.preview.drawing.canvas import SHEET_TOLERANCE, Paint, group, path
from preprocess.preview.heat_map.contours import excess_field, index_grid, lit_area
from preprocess.preview.heat_map.scale import limit_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import Plan
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.drawing.canvas import Viewport
    from preprocess.preview.heat_map.scale import HeatScale

    How = tuple[Viewport, float, HeatScale]

_LEAST = 0.2
"""mm²; smaller places get no line of the window's limits, as they get no finding."""

_SPECK = 0.1
"""mm² on the sheet; smaller spots of a colour are not drawn."""


def draw_patches(plan: Plan, heat: HeatIndex, artwork: Artwork, how: How) -> list[str]:
    """All patches, each cut to what of the artwork it shows.

    Args:
        plan: the one that the heat was computed of.
        heat: the index.
        artwork: the same.
        how: frame of the picture, how much coarser than the eye, and the scale.
    """
    lines = []
    for number, patch in enumerate(heat.images):
        step = plan.steps[patch.step]
        if isinstance(step, RasterGroup):
            area = lit_area(step, patch, artwork, how[1] * SHEET_TOLERANCE / how[0].scale)
            lines += _patch(patch, area, number, how)
    return lines


def _patch(patch: IndexImage, area: MultiPolygon, number: int, how: How) -> list[str]:
    view, name = how[0], f"lit-{number}"
    clip = f'<clipPath id="{name}"><path clip-rule="evenodd" d="{view.data(area)}"/></clipPath>'
    inside = [*_colours(patch, area, how), *_limits(patch, how)]
    lines = [clip, f'<g clip-path="url(#{name})">', *inside, "</g>"]
    index = patch.index[patch.lit]
    words = f"{patch.output}: index {index.min():.2f} to {index.max():.2f}"
    return group(f"heat-{number}", words, lines)


def _colours(patch: IndexImage, area: MultiPolygon, how: How) -> Iterator[str]:
    """Each colour over the cooler ones, so that no seam shows between them."""
    view, detail, scale = how
    grid = index_grid(patch, view.scale, detail)
    index = patch.index[patch.lit] / scale.base
    steps = np.asarray(scale.steps)
    coolest = max(0, int(np.searchsorted(steps, index.min(), "right")) - 1)
    hottest = max(0, int(np.searchsorted(steps, index.max(), "right")) - 1)
    ground = shapely.MultiPolygon([shapely.box(*area.bounds)])
    yield from path(view.data(ground), Paint(fill=scale.colours[coolest]))
    for n in range(coolest + 1, hottest + 1):
        lines = grid.lines(scale.steps[n] * scale.base, _SPECK / view.scale**2)
        if not lines.is_empty:
            yield from path(view.data(lines), Paint(fill=scale.colours[n]))


def _limits(patch: IndexImage, how: How) -> Iterator[str]:
    view, detail, scale = how
    for limit in scale.limits:
        at = limit.at * scale.base
        field = excess_field(patch, at, _LEAST, high=limit.high)
        if not (field > at).any():
            continue
        lines = index_grid(patch, view.scale, detail, field).lines(at, _LEAST)
        if not lines.is_empty:
            yield from limit_line(view.data(lines), limit)
