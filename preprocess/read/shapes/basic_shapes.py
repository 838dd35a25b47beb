"""Basic shapes as paths. Source of the rules: SVG 2, chapter 10, and its geometry properties."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from preprocess.read.shapes.compact_shapes import Oval, Rectangle, round_points
from preprocess.read.shapes.path_data import Path, parse_path_data
from preprocess.read.style.properties import CSS_PATH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.read.scene.painted import Outline
    from preprocess.read.xml.affine import UserPoint
    from preprocess.read.xml.lengths import Units, WidthHeight


_Lengths = Callable[[str, str], float]


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
    build = {"rect": _rect, "circle": _circle, "ellipse": _ellipse}[tag]
    return build(lambda name, axis: units.length(style(name), axis), _radii(style, units)), None


def _radii(style: Callable[[str], str], units: Units) -> tuple[float, float]:
    """Both radii, each as the other where it is auto, and 0 where both are."""
    rx, ry = (
        None if (text := style(name)) == "auto" else units.length(text, axis)
        for name, axis in (("rx", "x"), ("ry", "y"))
    )
    return (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0


def _path(text: str) -> tuple[Path, str | None]:
    css = CSS_PATH.match(text)
    path, error = parse_path_data(css[1] or css[2] or "" if css else text)
    return path, None if error is None else f"at character {error + 1} of its path data"


def _poly(text: str, *, closed: bool) -> tuple[Path, str | None]:
    if not text.strip():
        return Path(), None
    path, error = parse_path_data("M" + text)
    if closed and path.kinds:
        path.close()
    return path, None if error is None else "its points cannot be read to the end"


def _line(attributes: Mapping[str, str], units: Units) -> Path:
    path = Path()
    path.move(units.length(attributes.get("x1"), "x"), units.length(attributes.get("y1"), "y"))
    path.line(units.length(attributes.get("x2"), "x"), units.length(attributes.get("y2"), "y"))
    return path


def _rect(size: _Lengths, radii: UserPoint) -> Outline:
    corner, extent = (size("x", "x"), size("y", "y")), (size("width", "x"), size("height", "y"))
    return rounded_rectangle(corner, extent, radii)


def rounded_rectangle(corner: UserPoint, size: WidthHeight, radii: UserPoint) -> Outline:
    """A rectangle with its corners rounded by up to half its sides; empty without an extent."""
    (x, y), (width, height) = corner, size
    if width <= 0 or height <= 0:
        return Path()
    rx, ry = min(radii[0], width / 2), min(radii[1], height / 2)
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


def _circle(size: _Lengths, _: UserPoint) -> Outline:
    radius = size("r", "")
    return oval((size("cx", "x"), size("cy", "y")), (radius, radius))


def _ellipse(size: _Lengths, radii: UserPoint) -> Outline:
    return oval((size("cx", "x"), size("cy", "y")), radii)


def oval(centre: UserPoint, radii: UserPoint) -> Outline:
    """A circle or ellipse; empty without an extent."""
    return Oval(*centre, *radii) if min(radii) > 0 else Path()


def _round(path: Path, centre: UserPoint, radii: UserPoint, first: float, turn: float) -> None:
    points = round_points(centre, radii, first, turn)
    path.kinds += b"C" * (len(points) // 3)
    path.numbers.frombytes(points.tobytes())
