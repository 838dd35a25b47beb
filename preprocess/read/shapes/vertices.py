"""The vertices of a path and the directions in which markers point there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.read.scene.painted import Outline
    from preprocess.read.xml.affine import UserPoint


@dataclass(frozen=True, slots=True)
class Vertex:
    """A vertex; `angle` is the direction of the path there in radians, clockwise as seen."""

    x: float
    y: float
    angle: float


@dataclass(slots=True)
class _Corner:
    point: UserPoint
    arrives: UserPoint | None = None
    leaves: UserPoint | None = None


def vertices(path: Outline) -> list[Vertex]:
    """Every vertex of a path; the pieces that an arc is drawn in have none between them."""
    corners: list[_Corner] = []
    start: _Corner | None = None
    at = 0
    drawn: list[bool] = []
    inner = set(path.inner)
    for place, kind in enumerate(path.kinds.decode()):
        takes = {"M": 2, "L": 2, "C": 6, "Z": 0}[kind]
        numbers = path.numbers[at : at + takes]
        at += takes
        if kind == "M":
            start = _Corner((numbers[0], numbers[1]))
            corners.append(start)
        elif start is not None:
            _segment(corners, start, kind, numbers)
        drawn.append(place not in inner)
    return [Vertex(*c.point, _direction(c)) for c, one in zip(corners, drawn, strict=False) if one]


def _segment(corners: list[_Corner], start: _Corner, kind: str, numbers: Sequence[float]) -> None:
    begin = corners[-1]
    end = start.point if kind == "Z" else (numbers[-2], numbers[-1])
    points = [begin.point, *zip(numbers[:-2:2], numbers[1:-2:2], strict=True), end]
    begin.leaves = _first_step(points)
    corner = _Corner(end, arrives=_reversed(_first_step(points[::-1])))
    if kind == "Z":
        # Where the subpath closes, both ends look the same way.
        corner.leaves, start.arrives = start.leaves, corner.arrives
    corners.append(corner)


def _first_step(points: list[UserPoint]) -> UserPoint | None:
    x, y = points[0]
    return next(((p - x, q - y) for p, q in points[1:] if (p, q) != (x, y)), None)


def _reversed(step: UserPoint | None) -> UserPoint | None:
    return None if step is None else (-step[0], -step[1])


def _direction(corner: _Corner) -> float:
    """Half-way between the directions before and after."""
    units = [
        (x / math.hypot(x, y), y / math.hypot(x, y))
        for x, y in (step for step in (corner.arrives, corner.leaves) if step is not None)
    ]
    x, y = sum(u for u, _ in units), sum(v for _, v in units)
    if units and math.hypot(x, y) < 1e-12:  # noqa: PLR2004 - straight back
        return math.atan2(units[0][0], -units[0][1])
    return math.atan2(y, x)
