"""The picture of a heat map: colours from cool to hot, the window's limits, numbered places."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.job.plan import RasterGroup
from preprocess.preview.drawing.canvas import SHEET_TOLERANCE, Paint, group, path
from preprocess.preview.drawing.page_layout import page_bounds
from preprocess.preview.heat_map.contours import excess_field, index_grid, lit_area, lit_rows
from preprocess.preview.heat_map.heat_legend import surroundings
from preprocess.preview.heat_map.places import draw_numbers, place_numbers
from preprocess.preview.heat_map.scale import limit_line

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.findings import Finding
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import Plan
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.drawing.canvas import Viewport
    from preprocess.preview.heat_map.places import NumberedPlace
    from preprocess.preview.heat_map.scale import HeatScale

    How = tuple[Viewport, float, HeatScale]

Text = TypeVar("Text", str, bytes)

_DETAILS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
_LEAST = 0.2
"""mm²; smaller places get no line of the window's limits, as they get no finding."""

_SPECK = 0.1
"""mm² on the page; smaller spots of a colour are not drawn."""


def heat_picture(
    artwork: Artwork, plan: Plan, heat: HeatIndex, how: How, named: Sequence[Finding], room: Bounds
) -> tuple[list[str], list[str], list[NumberedPlace]]:
    """The map, the numbers on it, and their places.

    Args:
        artwork: the one that the heat was computed of.
        plan: the same.
        heat: the index.
        how: viewport, how much coarser than the eye, and the scale.
        named: findings to number.
        room: box of the page within which numbers may stand.
    """
    view, detail, _ = how
    lines = []
    for number, entry in enumerate(surroundings(artwork)):
        drawn = path(view.data(entry.geometry), entry.paint)
        lines += group(f"beside-{number}", entry.words, drawn)
    for number, patch in enumerate(heat.images):
        step = plan.steps[patch.step]
        if not patch.lit.any():
            continue
        if isinstance(step, RasterGroup):
            area = lit_area(step, patch, artwork, detail * SHEET_TOLERANCE / view.scale)
        else:
            area = lit_rows(patch)
        lines += _patch(patch, area, number, how)
    engraved = shapely.simplify(_engraved(artwork), 1.0 / view.scale)
    lit = view.on_sheet(shapely.MultiPolygon(list(shapely.get_parts(engraved))))
    points = (view.on_sheet(shapely.Point(f.spot)) for f in named if f.spot is not None)
    places = place_numbers(named, [(point.x, point.y) for point in points], room, lit)
    return lines, draw_numbers(places), places


def heat_bounds(artwork: Artwork) -> Bounds:
    """Box of engraved areas, parts, bars and lines; the page where there are none."""
    beside = [entry.geometry for entry in surroundings(artwork)]
    return joint_bounds([*_engraved(artwork), *beside]) or page_bounds(artwork.page)


def drawn_within(limit: int, draw: Callable[[float], Text]) -> Text:
    """A drawing at the finest detail that takes no more than `limit` bytes or characters."""
    for detail in _DETAILS:
        drawn = draw(detail)
        if len(drawn) <= limit:
            break
    return drawn


def _engraved(artwork: Artwork) -> list[MultiPolygon]:
    return [shape.geometry for shape in artwork.shapes if shape.is_engraved_area]


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
    ends = np.searchsorted(steps, (index.min(), index.max()), "right") - 1
    coolest, hottest = np.maximum(ends, 0).tolist()
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
