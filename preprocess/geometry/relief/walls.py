"""Walls of a part: how thick the plastic is under places of it, by rays from above."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Indices, Points

_GAP = 0.1
"""mm of air between layers that the printer closes; it ends no wall."""

_OFF = (0.381966, 0.618034)
"""Place of the first ray in its square: rays through edges of round numbers are unlikely."""

_PORTION = 4_000_000


def wall_rays(area: MultiPolygon, count: int) -> Points:
    """About so many places in an area, on a square grid, n × 2."""
    if area.is_empty:
        return np.zeros((0, 2))
    left, top, right, bottom = area.bounds
    step = float(np.sqrt(area.area / count))
    x = np.arange(left + _OFF[0] * step, right, step)
    y = np.arange(top + _OFF[1] * step, bottom, step)
    places = np.column_stack([grid.ravel() for grid in np.meshgrid(x, y)])
    return places[shapely.contains_xy(area, places)]


def wall_thickness(triangles: Floats, places: Points) -> Floats:
    """Thickness in mm of the first wall under each place (n × 2); nan where there is none.

    The mesh must be closed and face outward: a ray enters where a surface faces up.
    """
    ray, height, upward = _hits(triangles, places)
    if not len(ray):
        return np.full(len(places), np.nan)
    order = np.lexsort((-height, ray))
    ray, height, upward = ray[order], height[order], upward[order]
    found = np.full(len(places), np.nan)
    begins = np.flatnonzero(np.diff(ray, prepend=-1))
    for first, stop in zip(begins.tolist(), [*begins[1:].tolist(), len(ray)], strict=True):
        found[ray[first]] = _first_wall(height[first:stop], upward[first:stop])
    return found


def surface_heights(triangles: Floats, places: Points) -> Floats:
    """The highest z of triangles (n × 3 × 3) over each place (n × 2); nan where there is none."""
    ray, height, _ = _hits(triangles, places)
    found = np.full(len(places), -np.inf)
    np.maximum.at(found, ray, height)
    return np.where(np.isfinite(found), found, np.nan)


def _first_wall(heights: Floats, upward: Floats) -> float:
    """From the first entry to the exit after which there is air."""
    within = np.cumsum(upward)
    for number in range(len(heights)):
        last = number + 1 == len(heights)
        if within[number] <= 0 and (last or heights[number] - heights[number + 1] > _GAP):
            return float(heights[0] - heights[number])
    return float("nan")


def _hits(triangles: Floats, places: Points) -> tuple[Indices, Floats, Floats]:
    """Rays, heights at which they meet triangles, and 1 where these face up, -1 where down."""
    found = [*_portions(triangles, places)]
    if not found:
        return np.zeros(0, np.intp), np.zeros(0), np.zeros(0)
    ray, height, upward = (np.concatenate(column) for column in zip(*found, strict=True))
    return ray, height, upward


def _portions(triangles: Floats, places: Points) -> Iterator[tuple[Indices, Floats, Floats]]:
    """Pairs of a triangle and a ray in its box, found along x in portions that fit into memory."""
    by_x = np.argsort(places[:, 0], kind="stable")
    x = places[by_x, 0]
    first = np.searchsorted(x, triangles[:, :, 0].min(axis=1))
    stop = np.searchsorted(x, triangles[:, :, 0].max(axis=1), side="right")
    portion = np.cumsum(stop - first) // _PORTION
    for number in range(int(portion[-1]) + 1 if len(portion) else 0):
        chosen = np.flatnonzero((portion == number) & (stop > first))
        if not len(chosen):
            continue
        owner, at = expand_ranges(first[chosen], stop[chosen])
        yield _met(triangles[chosen], owner, places, by_x[at])


def _met(
    triangles: Floats, owner: Indices, places: Points, ray: Indices
) -> tuple[Indices, Floats, Floats]:
    """Of pairs of triangle and ray, those that meet."""
    y = places[ray, 1]
    near = (triangles[:, :, 1].min(axis=1)[owner] <= y) & (
        y <= triangles[:, :, 1].max(axis=1)[owner]
    )
    owner, ray = owner[near], ray[near]
    corner, point = triangles[owner], places[ray]
    a, b, c = corner[:, 0, :2], corner[:, 1, :2], corner[:, 2, :2]
    whole = _cross(b - a, c - a)
    one, two = _cross(b - point, c - point), _cross(c - point, a - point)
    three = whole - one - two
    side = np.sign(whole)
    met = (side != 0) & (one * side > 0) & (two * side > 0) & (three * side > 0)
    weights = np.column_stack((one, two, three))[met] / whole[met, None]
    height = np.einsum("ij,ij->i", weights, corner[met][:, :, 2])
    return ray[met], height, side[met]


def _cross(one: Points, two: Points) -> Floats:
    return one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
