"""Outlines of strokes: caps, joins and mitre limits as SVG 1.1, section 11.4, has them.

Skia draws the outline, in the space in which the line was stroked, because a map that stretches
unevenly makes a stroke of uneven width. Skia counts in 32-bit floats and takes points closer than
1/4096 for one, so each line is centred and scaled up first.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pathops
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import difference, intersection, union

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.model.artwork.shape import Stroke


STROKE_TOLERANCE = 0.005
"""Largest deviation of the flattened round of a cap or join from the true one, mm."""

COARSEST_SHARE = 1e-4
"""Share of half its width by which a stroke and its edge may be off: 222 chords to a turn.

At 5 µm that is more for strokes wider than 100 mm only, which reach beyond any field.
"""

_EXTENT = 2.0**16
_FLAT = 1e-12
_CAPS = {
    "butt": pathops.LineCap.BUTT_CAP,
    "round": pathops.LineCap.ROUND_CAP,
    "square": pathops.LineCap.SQUARE_CAP,
}
_JOINS = {
    "miter": pathops.LineJoin.MITER_JOIN,
    "round": pathops.LineJoin.ROUND_JOIN,
    "bevel": pathops.LineJoin.BEVEL_JOIN,
}


def outline_stroke(
    lines: MultiLineString, stroke: Stroke, *, tolerance: float = STROKE_TOLERANCE
) -> MultiPolygon:
    """Area that a stroke paints along lines, both in mm.

    Lines whose last point is their first are stroked as rings. A stroke without width, or whose
    map flattens the plane, paints nothing; a line without length paints its caps.
    """
    a, b, c, d, e, f = stroke.matrix
    linear, shift = np.array(((a, c), (b, d))), np.array((e, f))
    stretch = float(np.linalg.norm(linear, 2))
    if not stroke.width > 0 or abs(np.linalg.det(linear)) <= _FLAT * stretch**2:
        return NOTHING
    inverse = np.linalg.inv(linear)
    fine, coarse = tolerance / stretch, COARSEST_SHARE * stroke.width / 2
    painted = []
    for line in shapely.get_parts(lines):
        local = (shapely.get_coordinates(line) - shift) @ inverse.T
        if coarse > fine:  # its edges would cross one another at every pair of points
            local = shapely.get_coordinates(shapely.simplify(shapely.linestrings(local), coarse))
        contours = _stroked(local, stroke, max(fine, coarse))
        mapped = [round_coordinates(contour @ linear.T + shift) for contour in contours]
        painted.append(fill_contours(mapped, "nonzero"))
    return _bounded(union(painted), stroke)


def _bounded(area: MultiPolygon, stroke: Stroke) -> MultiPolygon:
    if stroke.within is not None:
        area = intersection(area, stroke.within)
    return area if stroke.without is None else difference(area, stroke.without)


def _stroked(line: Floats, stroke: Stroke, tolerance: float) -> list[Floats]:
    """Contours in local space, to be filled by the nonzero rule."""
    middle = (line.min(axis=0) + line.max(axis=0)) / 2
    extent = max(float(np.ptp(line, axis=0).max()), stroke.width)
    scale = 2.0 ** math.floor(math.log2(_EXTENT / extent))
    path = _path((line - middle) * scale)
    path.stroke(stroke.width * scale, _CAPS[stroke.cap], _JOINS[stroke.join], stroke.miter_limit)
    return [contour / scale + middle for contour in _contours(path, tolerance * scale)]


def _path(line: Floats) -> pathops.Path:
    path = pathops.Path()
    ring = len(line) > 2 and (line[0] == line[-1]).all()  # noqa: PLR2004
    path.moveTo(*line[0])
    for point in line[1:-1] if ring else line[1:]:
        path.lineTo(*point)
    if ring:
        path.close()
    return path


def _contours(path: pathops.Path, tolerance: float) -> list[Floats]:
    contours: list[list[Floats]] = []
    for verb, points in path:
        if verb == pathops.PathVerb.MOVE:
            contours.append([np.array(points)])
        elif verb == pathops.PathVerb.LINE:
            contours[-1].append(np.array(points))
        elif verb != pathops.PathVerb.CLOSE:
            control, end, *weight = points
            curve = np.array((contours[-1][-1][-1], control, end))
            contours[-1].append(_conic(curve, weight[0] if weight else 1.0, tolerance))
    return [np.vstack(contour) for contour in contours]


def _conic(curve: Floats, weight: float, tolerance: float) -> Floats:
    """Points after the start of a rational quadratic curve of weight 1 or less.

    Such a curve bends less than the parabola of weight 1, whose bound sets the number of points.
    """
    bend = np.hypot(*(curve[0] - 2 * curve[1] + curve[2]))
    pieces = max(1, math.ceil(math.sqrt(0.25 * bend / tolerance)))
    t = (np.arange(1, pieces + 1) / pieces)[:, None]
    shares = np.hstack(((1 - t) ** 2, 2 * weight * t * (1 - t), t**2))
    points = shares @ curve / shares.sum(axis=1, keepdims=True)
    points[-1] = curve[2]
    return points
