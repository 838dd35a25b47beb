"""Basic shapes as paths. Source of the rules: SVG 2, chapter 10, and its geometry properties."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.read.shapes.compact_shapes import Oval, Rectangle, round_points
from preprocess.read.shapes.pathdata import Path, path_of
from preprocess.read.style.properties import CSS_PATH
from preprocess.read.xml.lengths import Units, numbers

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from preprocess.read.scene.painted import Outline
    from preprocess.read.xml.affine import UserPoint


def shape_path(
    tag: str, attributes: Mapping[str, str], style: Callable[[str], str], units: Units
) -> tuple[Outline, str | None]:
    """The outline of a basic shape or path.

    Args:
        tag: one of `SHAPES`.
        attributes: of the element.
        style: computed value of a property.
        units: what relative lengths refer to.

    Returns:
        The path, empty when the shape draws nothing, and what is wrong with it.
    """
    if tag == "path":
        return _path(style("d") if style("d") != "none" else "")
    if tag in {"polyline", "polygon"}:
        return _poly(attributes.get("points", ""), closed=tag == "polygon")
    if tag == "line":
        return _line(attributes, units), None
    sizes = _Sizes(style, units)
    return {"rect": _rect, "circle": _circle, "ellipse": _ellipse}[tag](sizes), None


class _Sizes:
    """Geometry properties of one element as numbers."""

    def __init__(self, style: Callable[[str], str], units: Units) -> None:
        self.style = style
        self.units = units

    def __call__(self, name: str, axis: str = "") -> float:
        return self.units.length(self.style(name), axis)

    def radii(self) -> tuple[float | None, float | None]:
        rx, ry = (
            None if (text := self.style(name)) == "auto" else self.units.length(text, axis)
            for name, axis in (("rx", "x"), ("ry", "y"))
        )
        return (ry if rx is None else rx), (rx if ry is None else ry)


def _path(text: str) -> tuple[Path, str | None]:
    css = CSS_PATH.match(text)
    path, error = path_of(css[1] or css[2] or "" if css else text)
    return path, None if error is None else f"at character {error + 1} of its path data"


def _poly(text: str, *, closed: bool) -> tuple[Path, str | None]:
    path = Path()
    values = numbers(text)
    wrong = None
    if values is None or not all(map(math.isfinite, values)):
        path, error = path_of("M" + text)
        wrong = "its points cannot be read to the end" if error is not None else None
    else:
        if len(values) % 2:
            values, wrong = values[:-1], "its last point lacks a coordinate"
        for i in range(0, len(values), 2):
            (path.line if i else path.move)(values[i], values[i + 1])
    if closed and path.kinds:
        path.close()
    return path, wrong


def _line(attributes: Mapping[str, str], units: Units) -> Path:
    path = Path()
    path.move(units.length(attributes.get("x1"), "x"), units.length(attributes.get("y1"), "y"))
    path.line(units.length(attributes.get("x2"), "x"), units.length(attributes.get("y2"), "y"))
    return path


def _rect(size: _Sizes) -> Outline:
    x, y = size("x", "x"), size("y", "y")
    width, height = size("width", "x"), size("height", "y")
    if width <= 0 or height <= 0:
        return Path()
    rx, ry = size.radii()
    rx, ry = min(rx or 0.0, width / 2), min(ry or 0.0, height / 2)
    right, bottom = x + width, y + height
    if rx <= 0 or ry <= 0:
        return Rectangle(x, y, right, bottom)
    path = Path()
    path.move(x + rx, y)
    corners = (
        ((right - rx, y), (right - rx, y + ry), 270),
        ((right, bottom - ry), (right - rx, bottom - ry), 0),
        ((x + rx, bottom), (x + rx, bottom - ry), 90),
        ((x, y + ry), (x + rx, y + ry), 180),
    )
    for start, centre, angle in corners:
        path.line(*start)
        _round(path, centre, (rx, ry), angle, 90)
    path.close()
    return path


def _circle(size: _Sizes) -> Outline:
    radius = size("r")
    return _oval(size("cx", "x"), size("cy", "y"), radius, radius)


def _ellipse(size: _Sizes) -> Outline:
    rx, ry = size.radii()
    return _oval(size("cx", "x"), size("cy", "y"), rx or 0.0, ry or 0.0)


def _oval(cx: float, cy: float, rx: float, ry: float) -> Outline:
    return Oval(cx, cy, rx, ry) if rx > 0 and ry > 0 else Path()


def _round(path: Path, centre: UserPoint, radii: UserPoint, first: float, turn: float) -> None:
    points = round_points(centre, radii, first, turn)
    path.kinds += b"C" * (len(points) // 3)
    path.numbers.frombytes(points.tobytes())
