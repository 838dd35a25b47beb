"""Coupons as they are written, read with the standard library alone."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from pathlib import Path

from preprocess.coupon.design.model import CouponKind

FOLDER = Path(__file__).parents[2] / "fixtures" / "coupons"
KINDS = sorted(CouponKind)
SVG = "{http://www.w3.org/2000/svg}"

Point = tuple[float, float]


@dataclass(frozen=True)
class Path_:  # noqa: N801 - a path of the drawing
    layer: str
    filled: bool
    lines: tuple[tuple[Point, ...], ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        points = [point for line in self.lines for point in line]
        xs, ys = zip(*points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def crossings(self, y: float) -> list[float]:
        """Where a horizontal line crosses the outlines, in order."""
        found = []
        for line in self.lines:
            for (x0, y0), (x1, y1) in zip(line, (*line[1:], line[0]), strict=True):
                if (y0 <= y) != (y1 <= y):
                    found.append(x0 + (y - y0) * (x1 - x0) / (y1 - y0))
        return sorted(found)


def paths(data: bytes) -> dict[str, Path_]:
    """Every path by its id, and every image as its box."""
    found = {}
    for group in ET.fromstring(data).iter(f"{SVG}g"):
        for path in group.iter(f"{SVG}path"):
            lines = tuple(
                tuple(
                    (float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", subpath)
                )
                for subpath in path.get("d").split("M")[1:]
            )
            found[path.get("id")] = Path_(group.get("id"), path.get("fill") != "none", lines)
        for image in group.iter(f"{SVG}image"):
            x, y, wide, high = (float(image.get(name)) for name in ("x", "y", "width", "height"))
            corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
            found[image.get("id")] = Path_(group.get("id"), filled=True, lines=(corners,))
    return found


def page(data: bytes) -> tuple[float, float]:
    """Width and height of the page in mm."""
    root = ET.fromstring(data)
    return tuple(float(root.get(name).removesuffix("mm")) for name in ("width", "height"))
