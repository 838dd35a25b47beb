"""What a written file and an overlay hold, read by code that shares nothing with the program.

Markup by the standard library, path data by one regular expression, areas by GEOS.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

import numpy as np
import shapely

SVG = "{http://www.w3.org/2000/svg}"
SUBPATH = re.compile(r"M([^MZz]*)([Zz]?)")
NUMBER = re.compile(r"-?[\d.]+(?:e-?\d+)?")


@dataclass(frozen=True, slots=True)
class Group:
    """One colour layer: id, paint, and for each path its rings or lines (n × 2, mm)."""

    id: str
    colour: str
    filled: bool
    paths: tuple[tuple[np.ndarray, ...], ...]

    @property
    def areas(self) -> list[shapely.Geometry]:
        """What each path paints, by the rule even-odd."""
        return [even_odd(path) for path in self.paths]

    @property
    def length(self) -> float:
        """Length of all lines, mm."""
        return float(sum(shapely.linestrings(sub).length for path in self.paths for sub in path))

    @property
    def points(self) -> int:
        """How many points it has."""
        return sum(len(sub) for path in self.paths for sub in path)


@dataclass(frozen=True, slots=True)
class Written:
    """A file: size of its page in mm, and its layers in order."""

    width: float
    height: float
    groups: tuple[Group, ...]


def even_odd(rings: tuple[np.ndarray, ...]) -> shapely.Geometry:
    """The points that lie inside an odd number of rings."""
    whole = [ring for ring in rings if len(np.unique(ring, axis=0)) > 2]
    if not whole:
        return shapely.Polygon()
    lines = shapely.unary_union([shapely.LineString(ring) for ring in whole])
    faces = shapely.get_parts(shapely.polygonize([lines]))
    if not len(faces):
        return shapely.Polygon()
    middles = shapely.get_coordinates(shapely.point_on_surface(faces))
    odd = sum(_inside(ring, middles).astype(int) for ring in whole) % 2 == 1
    return shapely.unary_union(faces[odd]) if odd.any() else shapely.Polygon()


def _inside(ring: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Whether each point lies inside a ring, by counting the edges to its right."""
    (x0, y0), (x1, y1) = ring[:-1].T, ring[1:].T
    x, y = points[:, :1], points[:, 1:]
    crosses = (y0 > y) != (y1 > y)
    high = np.where(y1 == y0, 1.0, y1 - y0)
    return (crosses & (x < x0 + (y - y0) / high * (x1 - x0))).sum(axis=1) % 2 == 1


def read(data: bytes) -> Written:
    """A laser-ready file."""
    root = ET.fromstring(data)
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    groups = [_group(one) for one in root.findall(f"{SVG}g") if one.find(f"{SVG}path") is not None]
    return Written(width, height, tuple(groups))


def _group(element: ET.Element) -> Group:
    paths = element.findall(f"{SVG}path")
    fill, stroke = paths[0].get("fill"), paths[0].get("stroke")
    filled = fill != "none"
    rings = tuple(subpaths(path.get("d")) for path in paths)
    return Group(element.get("id"), fill if filled else stroke, filled, rings)


def subpaths(data: str) -> tuple[np.ndarray, ...]:
    """Straight-edged rings and lines of a path; a ring ends where it begins."""
    found = []
    for text, end in SUBPATH.findall(data):
        points = np.array(NUMBER.findall(text), dtype=float).reshape(-1, 2)
        found.append(np.vstack([points, points[:1]]) if end else points)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Shown:
    """One entry of an overlay: its words, and its path data in mm of the sheet."""

    words: str
    data: str


@dataclass(frozen=True, slots=True)
class Overlay:
    """An overlay: its entries from below, and where the output page lies on the sheet (mm)."""

    entries: tuple[Shown, ...]
    box: tuple[float, float, float, float]

    def data(self, *beginnings: str) -> list[str]:
        """Path data of the entries whose words begin, or with "*" contain, one of these."""
        return [
            entry.data
            for entry in self.entries
            if any(
                one[1:] in entry.words if one[:1] == "*" else entry.words.startswith(one)
                for one in beginnings
            )
        ]


def read_overlay(data: bytes) -> Overlay:
    """An overlay as the program writes it.

    Raises:
        ValueError: the output page is not in it.
    """
    root = ET.fromstring(data)
    picture = next((one for one in root.findall(f"{SVG}g") if one.get("id") == "picture"), None)
    entries = []
    for group in [] if picture is None else picture.findall(f"{SVG}g"):
        path = group.find(f"{SVG}path")
        if group.get("id", "").startswith("entry-") and path is not None:
            entries.append(Shown(group.findtext(f"{SVG}title") or "", path.get("d")))
    page = next((one for one in entries if one.words.startswith("output page")), None)
    if page is None:
        raise ValueError("the overlay does not show the output page")
    points = np.concatenate(subpaths(page.data))
    return Overlay(tuple(entries), (*points.min(axis=0), *points.max(axis=0)))
