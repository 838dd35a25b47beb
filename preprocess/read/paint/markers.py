"""Markers and the vertices that carry them. Source: SVG 2, 13.7, and SVG 1.1, 11.6."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.regions import intersect_clip, mapped_rectangle
from preprocess.read.style.element_style import style_at
from preprocess.read.style.properties import url_reference
from preprocess.read.xml.affine import (
    ANGLE_UNITS,
    UserPoint,
    compose,
    degrees_of,
    radian_rotation,
    scaling,
    translation,
)
from preprocess.read.xml.lengths import split_length
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import Outline, PaintedOutline
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import ElementWalker

_POINTS = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
_PLACES = ("start", "mid", "end")


def marker_outlines(
    walker: ElementWalker, visit: ElementVisit, path: Outline
) -> Iterator[PaintedOutline]:
    """Outlines painted by the markers of a path, in the order of its vertices."""
    found = {place: _marker(walker.scene, visit, place) for place in _PLACES}
    if not any(found.values()) or visit.context.hidden:
        return
    points = path_vertices(path)
    for at, vertex in enumerate(points):
        first, last = at == 0, at == len(points) - 1
        places = [*(["start"] if first else []), *(["end"] if last else [])] or ["mid"]
        for place in places:
            marker = found[place]
            if marker is not None and walker.scene.may_copy():
                yield from _drawn(walker, marker, visit, vertex, is_start=place == "start")


def _marker(scene: Scene, visit: ElementVisit, place: str) -> ElementWrapper | None:
    href = url_reference(visit.style(f"marker-{place}"))
    if href is None:
        return None
    target = scene.target(href)
    if target is None or target.local_name != "marker":
        scene.say(visit, "broken-reference", f"marker {href[:60]}")
        return None
    return None if target in visit.context.uses else target


def _drawn(
    walker: ElementWalker,
    marker: ElementWrapper,
    user: ElementVisit,
    vertex: PathVertex,
    *,
    is_start: bool,
) -> list[PaintedOutline]:
    scene, attributes, context = walker.scene, marker.etree_element.attrib, user.context
    units = scene.units(context)
    style = style_at(marker, scene.cascade, units)
    width = units.length(attributes.get("markerWidth"), "x", 3.0)
    height = units.length(attributes.get("markerHeight"), "y", 3.0)
    box = view_box(attributes.get("viewBox"))
    if width <= 0 or height <= 0 or (box and min(box[2:]) <= 0):
        return []
    scale = 1.0
    if attributes.get("markerUnits") != "userSpaceOnUse":
        scale = units.length(user.style("stroke-width"), default=1.0)
    view = view_map(box, attributes.get("preserveAspectRatio", ""), width, height)
    inner = compose(context.matrix, translation(vertex.x, vertex.y))
    inner = compose(inner, _turned(attributes.get("orient", "0"), vertex, is_start=is_start))
    inner = compose(inner, scaling(scale, scale))
    x, y = (_reference_point(attributes, side, box) for side in ("refX", "refY"))
    inner = compose(inner, _linear(view, x, y))
    clip = context.clip
    if style("overflow").lower() not in {"visible", "auto"}:
        left, top, w, h = box or (0.0, 0.0, width, height)
        clip = intersect_clip(clip, mapped_rectangle((left, top, left + w, top + h), inner))
    inside = context.entering(
        marker,
        matrix=inner,
        style=style,
        box=box[2:] if box else (width, height),
        clip=clip,
        marker_paints=(user.style("fill"), user.style("stroke")),
        within=user.name,
    )
    return walker.run(ElementVisit(marker, inside, "marker").children())


def _linear(view: Matrix, x: float, y: float) -> Matrix:
    """The view's scale, with the reference point at the vertex."""
    a, b, c, d, _, _ = view
    return compose((a, b, c, d, 0.0, 0.0), translation(-x, -y))


def _reference_point(
    attributes: dict[str, str], side: str, box: tuple[float, float, float, float] | None
) -> float:
    text = attributes.get(side, "0")
    corner = box or (0.0, 0.0, 0.0, 0.0)
    start, length = corner[0::2] if side == "refX" else corner[1::2]
    if text in _POINTS:
        return start + _POINTS[text] * length
    split = split_length(text)
    if split is None:
        return 0.0
    return split[0] / 100 * length if split[1] == "%" else split[0]


def _turned(orient: str, vertex: PathVertex, *, is_start: bool) -> Matrix:
    text = orient.strip()
    if text in {"auto", "auto-start-reverse"}:
        angle = vertex.angle + (math.pi if is_start and text != "auto" else 0.0)
    else:
        split = split_length(text)
        angle = math.radians(degrees_of(*split)) if split and split[1] in ANGLE_UNITS else 0.0
    return radian_rotation(angle)


@dataclass(frozen=True, slots=True)
class PathVertex:
    """A vertex; `angle` is the direction of the path there in radians, clockwise as seen."""

    x: float
    y: float
    angle: float


@dataclass(slots=True)
class _Corner:
    point: UserPoint
    arrives: UserPoint | None = None
    leaves: UserPoint | None = None


def path_vertices(path: Outline) -> list[PathVertex]:
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
    return [
        PathVertex(*c.point, _direction(c)) for c, one in zip(corners, drawn, strict=False) if one
    ]


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
