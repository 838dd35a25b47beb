"""What a written file holds and how long it takes, by code that shares nothing with the program.

Paths are read with a few regular expressions, areas by the shoelace formula, rows by crossing the
edges of a path at each height.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np

ROUNDED = 2e-4
"""mm by which rounding to the written grid may move two edges apart: that makes no further row."""

DARK = 1e-5
"""mm; what is narrower is a tip that a row touches."""

SVG = "{http://www.w3.org/2000/svg}"


@dataclass
class Layer:
    """One group: its title, its colour, and the rings or lines of each path, in mm."""

    title: str
    colour: str
    filled: bool
    paths: list[list[np.ndarray]] = field(default_factory=list)

    @property
    def points(self) -> np.ndarray:
        return np.concatenate([sub for path in self.paths for sub in path])

    @property
    def area(self) -> float:
        return sum(shoelace(sub) for path in self.paths for sub in path)

    @property
    def length(self) -> float:
        return sum(long(sub) for path in self.paths for sub in path)


def read(data: bytes) -> tuple[tuple[float, float], list[Layer]]:
    """Size of the page in mm, and the layers in their order."""
    root = ET.fromstring(data)
    size = tuple(float(root.get(name).removesuffix("mm")) for name in ("width", "height"))
    return size, [_layer(group) for group in root.findall(f"{SVG}g")]


def _layer(group: ET.Element) -> Layer:
    paths = group.findall(f"{SVG}path")
    filled = paths[0].get("fill") != "none"
    layer = Layer(
        group.findtext(f"{SVG}title"), paths[0].get("fill" if filled else "stroke"), filled
    )
    for path in paths:
        subpaths = []
        for text in re.findall(r"M[^M]+", path.get("d")):
            points = np.array(re.findall(r"-?[\d.]+", text), dtype=float).reshape(-1, 2)
            closed = "Z" in text
            subpaths.append(np.vstack([points, points[:1]]) if closed else points)
        layer.paths.append(subpaths)
    return layer


def shoelace(ring: np.ndarray) -> float:
    """Signed; holes run the other way round, so that sums are those of areas."""
    x, y = ring.T
    return float(np.sum(x[1:] * y[:-1] - x[:-1] * y[1:]) / 2)


def long(line: np.ndarray) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def spans(path: list[np.ndarray], pitch: float) -> np.ndarray:
    """First and last lit point of each row of a path, level rows from its upper edge on.

    A row that only touches tips has no light, and is none.
    """
    edges = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in path])
    top, bottom = edges[:, [1, 3]].min(), edges[:, [1, 3]].max()
    found = []
    for k in range(math.ceil((bottom - top - ROUNDED) / pitch)):
        y = top + k * pitch + 1e-7  # just inside, as rows are half-open
        x0, y0, x1, y1 = edges[(edges[:, 1] > y) != (edges[:, 3] > y)].T
        if len(x0):
            across = x0 + (y - y0) / (y1 - y0) * (x1 - x0)
            pieces = np.sort(across).reshape(-1, 2)
            lit = pieces[pieces[:, 1] - pieces[:, 0] > DARK]
            found += [(lit[0, 0], lit[-1, 1])] if len(lit) else []
    return np.array(found)


def sweep_time(path: list[np.ndarray], settings, machine) -> float:
    """Each row at its speed, then a turnaround; one-way the way back as well."""
    ends = spans(path, settings.pitch)
    wide = ends[:, 1] - ends[:, 0]
    back = wide / machine.fly_back if settings.direction == "one-way" else 0.0 * wide
    dark = machine.turnaround + back
    return float((wide / settings.speed).sum() + dark[:-1].sum())


def trace_time(layer: Layer, settings, machine) -> float:
    """All lines at their speed, and the dark ways between them."""
    lines = [sub for path in layer.paths for sub in path]
    dark = sum(
        machine.turnaround + math.dist(one[-1], other[0]) / machine.fly_back
        for one, other in pairwise(lines)
    )
    return layer.length / settings.speed + dark
