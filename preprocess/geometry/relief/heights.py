"""Heights of a part seen from above: its level areas, what lies in focus, and what does not.

The highest surface lies above a height exactly where the pieces of triangles above it cover. No
area here needs normals, but for the slant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.overlay.booleans import difference, intersection
from preprocess.geometry.relief.clipping import above, below
from preprocess.geometry.relief.cover import cover, without_cracks
from preprocess.geometry.relief.mesh_health import facing

if TYPE_CHECKING:
    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Floats

_LEVEL = 2.0
"""Degrees that a level area may lean."""

_STEP = 0.02
"""mm above and below a height within which an area counts as level with it."""

_MOST_LEVELS = 5

_SMALL_LEVEL = 0.03
"""Share of the outline below which a level is no place for a mark."""

_WORTH_IT = 0.2
"""Share of what faces the beam that the largest level has at least; else the part is curved."""

_TRIED = 257
"""Heights tried for the marked surface of a part without a level area."""

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Level:
    """A height, mm, and how much of what is seen from above is level at it, mm²."""

    height: float
    area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightAreas:
    """A part seen from above, split by height; raised, sunk, slanted and flat make up the outline.

    `plane` is the height of the marked surface, `top` that of the highest place, mm; `rise` is how
    much the flat area rises and falls; `levels` are all level areas, the largest first.
    """

    outline: MultiPolygon
    flat: MultiPolygon
    raised: MultiPolygon
    sunk: MultiPolygon
    slanted: MultiPolygon
    plane: float
    top: float
    rise: float
    levels: tuple[Level, ...]


def height_areas(
    triangles: Floats, *, depth: float, slant: float, plane: float | None = None
) -> HeightAreas | None:
    """Split a part by height; None where nothing of it faces the beam.

    Args:
        triangles: n × 3 × 3, mm, the beam coming from +z.
        depth: how far above and below the marked surface the beam is in focus, mm.
        slant: lean beyond which a surface is slanted, degrees.
        plane: height of the marked surface; found unless given.
    """
    outline = cover(triangles)
    cosine, seen = facing(triangles)
    flat_enough = np.abs(cosine) > math.cos(math.radians(slant))
    if not seen[flat_enough].any():
        return None
    levels = _levels(triangles, np.abs(cosine), seen, outline.area)
    if plane is None:
        up = flat_enough & (cosine > 0)
        facing_up = up if seen[up].any() else flat_enough
        plane = _plane(triangles[facing_up], seen[facing_up], levels, depth)
    upper = above(triangles, plane - depth)
    raised = cover(above(upper, plane + depth))
    not_sunk = cover(upper)
    band = _tidy(difference(not_sunk, raised))
    slanted = _slanted(upper, plane + depth, slant, band)
    flat = _tidy(difference(band, slanted))
    return HeightAreas(
        outline=outline,
        flat=flat,
        raised=raised,
        sunk=_tidy(difference(outline, not_sunk)),
        slanted=slanted,
        plane=plane,
        top=float(triangles[:, :, 2].max()),
        rise=_rise(triangles[flat_enough], plane, depth),
        levels=levels,
    )


def height_bands(triangles: Floats, count: int) -> list[tuple[float, MultiPolygon]]:
    """Heights from the lowest up, and the area that lies higher than each, for a picture."""
    low, top = float(triangles[:, :, 2].min()), float(triangles[:, :, 2].max())
    heights = [low + (top - low) * number / count for number in range(count)]
    found = [(low, cover(triangles))]
    rest = triangles
    for height in heights[1:]:
        rest = above(rest, height - _SAME)
        found.append((height, cover(rest)))
    return found


def area_above(triangles: Floats, height: float) -> MultiPolygon:
    """The area in which something lies higher than a height, mm."""
    return cover(above(triangles, height))


def _tidy(area: BaseGeometry) -> MultiPolygon:
    return without_cracks(area)


def _levels(triangles: Floats, upright: Floats, seen: Floats, outline: float) -> tuple[Level, ...]:
    """Heights at which what is seen is level, by visible area."""
    level = (upright > math.cos(math.radians(_LEVEL))) & (seen > 0)
    height, area = triangles[level].mean(axis=1)[:, 2], seen[level]
    found: list[Level] = []
    while len(height) and len(found) < _MOST_LEVELS:
        middle, within = _fullest(height, area, 2 * _STEP)
        if within < _SMALL_LEVEL * outline:
            break
        over, under = area_above(triangles, middle - _STEP), area_above(triangles, middle + _STEP)
        found.append(Level(middle, over.area - under.area))
        rest = np.abs(height - middle) > 3 * _STEP
        height, area = height[rest], area[rest]
    visible = [level for level in found if level.area >= _SMALL_LEVEL * outline]
    return tuple(sorted(visible, key=lambda level: (-round(level.area, 6), -level.height)))


def _fullest(height: Floats, area: Floats, window: float) -> tuple[float, float]:
    """The median height in the window of heights that holds most area, and that area."""
    order = np.argsort(height, kind="stable")
    height, total = height[order], np.concatenate(([0.0], np.cumsum(area[order])))
    stop = np.searchsorted(height, height + window + _SAME, side="right")
    held = total[stop] - total[:-1]
    first = int(np.argmax(held))
    half = total[first] + held[first] / 2
    at = int(np.searchsorted(total, half, side="left")) - 1
    return float(height[at]), float(held[first])


def _plane(facing_up: Floats, seen: Floats, levels: tuple[Level, ...], depth: float) -> float:
    """The largest level; on a part that has none to speak of, the height with most in focus."""
    if levels and levels[0].area > _WORTH_IT * float(seen.sum()):
        return levels[0].height
    heights = np.sort(facing_up[:, :, 2], axis=1)
    tried = np.linspace(heights.min(), heights.max(), _TRIED)
    held = _area_below(heights, seen, tried + depth) - _area_below(heights, seen, tried - depth)
    return float(tried[int(np.argmax(np.round(held, 6)))])


def _area_below(heights: Floats, seen: Floats, limits: Floats) -> Floats:
    """How much of the area of triangles lies below each limit; heights ascending, n × 3.

    The share of a triangle below a height grows with its square up to the middle corner.
    """
    span = heights[:, 2] - heights[:, 0]
    steep = span > (limits[-1] - limits[0]) / len(limits)
    order = np.argsort(heights[~steep].mean(axis=1), kind="stable")
    total = np.concatenate(([0.0], np.cumsum(seen[~steep][order])))
    below_all = total[np.searchsorted(heights[~steep].mean(axis=1)[order], limits)]
    low, middle, high = heights[steep].T
    lower = np.maximum((middle - low) * (high - low), _SAME**2)
    upper = np.maximum((high - middle) * (high - low), _SAME**2)
    for number, limit in enumerate(limits):
        up = np.clip(limit, low, middle) - low
        down = high - np.clip(limit, middle, high)
        share = np.where(limit < middle, up**2 / lower, 1 - down**2 / upper)
        below_all[number] += share @ seen[steep]
    return below_all


def _slanted(upper: Floats, limit: float, slant: float, band: MultiPolygon) -> MultiPolygon:
    cosine, _ = facing(upper)
    leaning = upper[np.abs(cosine) <= math.cos(math.radians(slant))]
    return _tidy(intersection(cover(below(leaning, limit)), band))


def _rise(triangles: Floats, plane: float, depth: float) -> float:
    """How much what faces the beam rises and falls within the focus."""
    low, high = plane - depth - _SAME, plane + depth + _SAME
    heights = triangles[:, :, 2]
    least, most = heights.min(axis=1), heights.max(axis=1)
    within = (most > low) & (least < high)
    if not within.any():
        return 0.0
    return float(min(most[within].max(), high) - max(least[within].min(), low))
