"""Patterns as repeated geometry inside the painted area. Source: SVG 2, section 14.3."""

from __future__ import annotations

import math
from dataclasses import replace
from enum import Enum, auto
from typing import TYPE_CHECKING

import shapely

from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.fill_and_stroke import painted_areas
from preprocess.read.shapes.regions import intersect_clip, mapped_rectangle
from preprocess.read.style.element_style import style_at
from preprocess.read.xml.affine import (
    IDENTITY,
    BoundingBox,
    compose,
    inverse_matrix,
    is_degenerate,
    parse_transform_list,
    translation,
)
from preprocess.read.xml.elements import template_chain, templated_attributes
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import PaintedOutline
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.xml.lengths import Units

_PATTERN = frozenset({"pattern"})


class NoTiles(Enum):
    """Reason that a pattern has no tiles: there are too many, or it is none that can be drawn."""

    TOO_MANY = auto()
    INVALID = auto()


def pattern_tiles(
    walker: ElementWalker, pattern: ElementWrapper, user: ElementVisit, whole: PaintedOutline
) -> list[PaintedOutline] | NoTiles:
    """Outlines painted by a pattern in place of a fill or stroke.

    A pattern without size or children gives way to the fallback of the paint, as renderers agree.
    """
    scene, context = walker.scene, user.context
    if pattern in context.uses or context.hidden:
        return []
    sources = template_chain(pattern, scene.by_id, _PATTERN)
    attributes = templated_attributes(sources)
    content = next((s for s in sources if any(True for _ in s.iter_children())), None)
    bounds = walker.bounds(user)
    cell = _cell(scene.units(context), attributes, bounds)
    box = view_box(attributes.get("viewBox"))
    if content is None or cell is None or (box and min(box[2:]) <= 0):
        return NoTiles.INVALID
    area = painted_areas([whole], scene.drawing.tolerance)[0]
    if bounds is None or area.is_empty:
        return []
    units = scene.units(context)
    own = parse_transform_list(attributes.get("patternTransform", ""), units) or IDENTITY
    matrix = compose(context.matrix, own)
    if is_degenerate(matrix):
        return []
    area = _near_the_page(area, cell, matrix, scene)
    steps = _steps(cell, matrix, area, scene.limits.tiles - scene.tiles)
    if steps is None:
        return NoTiles.TOO_MANY
    scene.tiles += len(steps)
    style = style_at(content, scene.cascade, units)
    inside = context.entering(pattern, style=style, within=user.name)
    inner = _inner(attributes, cell, bounds)
    found: list[PaintedOutline] = []
    for number, (x, y) in enumerate(steps, 1):
        shifted = compose(matrix, translation(x, y))
        tile = mapped_rectangle((cell[0], cell[1], cell[0] + cell[2], cell[1] + cell[3]), shifted)
        clip = intersect_clip(area, tile)
        if clip.is_empty or not scene.may_copy():
            continue
        one, before = replace(inside, matrix=compose(shifted, inner), clip=clip), scene.tiles
        found += walker.run(ElementVisit(content, one, "pattern").children())
        # Tiles within tiles are not waited for: one tile tells how many the others would have.
        if (scene.tiles - before) * (len(steps) - number) > scene.limits.tiles - scene.tiles:
            return NoTiles.TOO_MANY
    return found


def _near_the_page(
    area: MultiPolygon, cell: BoundingBox, matrix: Matrix, scene: Scene
) -> MultiPolygon:
    """Crop an area to the page and one tile around it; unchanged where nothing is left.

    What reaches beyond the page is not marked, but named: the tiles next to the page suffice.
    """
    if scene.page is None:
        return area
    a, b, c, d, *_ = map(abs, matrix)
    wide, high = a * cell[2] + c * cell[3], b * cell[2] + d * cell[3]
    width, height = (side * scene.mm_per_px for side in scene.page)
    near = intersect_clip(
        area, mapped_rectangle((-wide, -high, width + wide, height + high), IDENTITY)
    )
    return area if near.is_empty else near


def _cell(
    units: Units, attributes: Mapping[str, str], bounds: BoundingBox | None
) -> BoundingBox | None:
    """x, y, width and height of the first tile in the pattern's space; None when it is flat."""
    by_box = attributes.get("patternUnits") != "userSpaceOnUse"
    x, y, w, h = (units.within((1.0, 1.0)) if by_box else units).box_of(attributes)
    if by_box and bounds is not None:
        left, top, right, bottom = bounds
        x, y = left + x * (right - left), top + y * (bottom - top)
        w, h = w * (right - left), h * (bottom - top)
    return (x, y, w, h) if w > 0 and h > 0 else None


def _inner(attributes: Mapping[str, str], cell: BoundingBox, bounds: BoundingBox) -> Matrix:
    """From the units of the pattern's content to those of its tiles."""
    corner = translation(cell[0], cell[1])
    box = view_box(attributes.get("viewBox"))
    if box and min(box[2:]) > 0:
        view = view_map(box, attributes.get("preserveAspectRatio", ""), cell[2], cell[3])
        return compose(corner, view)
    if attributes.get("patternContentUnits") == "objectBoundingBox":
        left, top, right, bottom = bounds
        return compose(corner, (right - left, 0.0, 0.0, bottom - top, 0.0, 0.0))
    return corner


def _steps(
    cell: BoundingBox, matrix: Matrix, area: MultiPolygon, most: int
) -> list[tuple[float, float]] | None:
    """Shifts of the tiles that may touch the area."""
    a, b, c, d, e, f = inverse_matrix(matrix)
    hull = shapely.affinity.affine_transform(area.envelope, (a, c, b, d, e, f))
    left, top, right, bottom = hull.bounds
    x, y, w, h = cell
    columns = range(math.floor((left - x) / w), math.floor((right - x) / w) + 1)
    rows = range(math.floor((top - y) / h), math.floor((bottom - y) / h) + 1)
    if len(columns) * len(rows) > most:
        return None
    return [(i * w, j * h) for j in rows for i in columns]
