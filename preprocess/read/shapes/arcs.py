"""Elliptical arcs as cubic curves, to 7e-8 of their radius.

Source: SVG 2, appendix "Elliptical arc implementation notes". A piece of 22.5 degrees departs from
the ellipse by 7e-8 of its radius.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preprocess.read.xml.affine import UserPoint


_PIECE = math.radians(22.5)

CubicCurve = tuple[float, float, float, float, float, float]


def arc_cubics(
    start: UserPoint, radii: UserPoint, angle: float, flags: tuple[bool, bool], end: UserPoint
) -> list[CubicCurve] | None:
    """An arc as path data gives it.

    Args:
        start: the current point.
        radii: of the ellipse, of any sign; they grow when they are too small to reach.
        angle: of the ellipse's first axis against x, degrees.
        flags: large arc, positive angles.
        end: where the arc ends.

    Returns:
        Cubic curves; none when start and end agree; None when it is a straight line.
    """
    rx, ry = abs(radii[0]), abs(radii[1])
    if start == end:
        return []
    if rx == 0 or ry == 0:
        return None
    tilt = math.radians(angle % 360)
    cos, sin = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    # On the unit circle of the ellipse the arc is a circular one.
    ux, uy = (cos * dx + sin * dy) / rx, (cos * dy - sin * dx) / ry
    half = math.hypot(ux, uy)
    if half > 1:
        rx, ry, ux, uy, half = rx * half, ry * half, ux / half, uy / half, 1.0
    if half == 0 or not math.isfinite(half):
        return None
    rise = math.sqrt(max(0.0, 1 - half * half)) / half
    if flags[0] == flags[1]:
        rise = -rise
    cx, cy = rise * uy, -rise * ux
    first = math.atan2(uy - cy, ux - cx)
    turn = math.atan2(-uy - cy, -ux - cx) - first
    if flags[1] and turn < 0:
        turn += 2 * math.pi
    elif not flags[1] and turn > 0:
        turn -= 2 * math.pi
    mx = (start[0] + end[0]) / 2 + cos * cx * rx - sin * cy * ry
    my = (start[1] + end[1]) / 2 + sin * cx * rx + cos * cy * ry
    axes = (cos * rx, sin * rx, -sin * ry, cos * ry)
    curves = ellipse_cubics((mx, my), axes, first, turn)
    curves[-1] = (*curves[-1][:4], *end)
    return curves


def ellipse_cubics(
    centre: UserPoint, axes: tuple[float, float, float, float], first: float, turn: float
) -> list[CubicCurve]:
    """Cubic curves along centre + cos t · (axes 0, 1) + sin t · (axes 2, 3), t in radians."""
    count = max(1, math.ceil(abs(turn) / _PIECE - 1e-9))
    step = turn / count
    k = 4 / 3 * math.tan(step / 4)
    ax, ay, bx, by = axes

    def at(x: float, y: float) -> UserPoint:
        return centre[0] + ax * x + bx * y, centre[1] + ay * x + by * y

    curves = []
    for i in range(count):
        c, s = math.cos(first + i * step), math.sin(first + i * step)
        c2, s2 = math.cos(first + (i + 1) * step), math.sin(first + (i + 1) * step)
        curves.append((*at(c - k * s, s + k * c), *at(c2 + k * s2, s2 - k * c2), *at(c2, s2)))
    return curves
