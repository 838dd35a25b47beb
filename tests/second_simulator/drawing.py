"""A written SVG as the laser's software sees it: paths with a colour, filled or stroked, in mm.

It reads what evenmark writes: absolute and relative M, L, H, V and Z. Nothing here comes from it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from lxml import etree

_TOKEN = re.compile(r"[A-DF-Za-df-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96}


@dataclass(frozen=True)
class Path:
    """One path: its colour, whether it is filled, and its polylines (n × 2, mm)."""

    colour: str
    filled: bool
    even_odd: bool
    lines: tuple[np.ndarray, ...]


def read_paths(data: bytes) -> list[Path]:
    """All painted paths in the order of the file."""
    root = etree.fromstring(data)
    scale, left, top = _viewport(root)
    found = []
    for element in root.iter("{*}path"):
        fill, stroke = element.get("fill", "none"), element.get("stroke", "none")
        filled = fill != "none"
        if not filled and stroke == "none":
            continue
        lines = tuple((line - (left, top)) * scale for line in polylines(element.get("d")))
        even_odd = element.get("fill-rule") == "evenodd"
        found.append(Path((fill if filled else stroke).lower(), filled, even_odd, lines))
    return found


def _viewport(root) -> tuple[float, float, float]:
    number, unit = re.fullmatch(r"([\d.]+)([a-z]*)", root.get("width")).groups()
    left, top, wide, _ = map(float, root.get("viewBox").split())
    return float(number) * _MM[unit] / wide, left, top


def polylines(d: str) -> list[np.ndarray]:
    """The polylines of path data; a closed one ends where it begins."""
    found, points, letter = [], [], "M"
    x = y = 0.0
    tokens = iter(_TOKEN.findall(d))
    for token in tokens:
        if token.isalpha():
            letter = token
            assert letter in "MmLlHhVvZz", letter
            if letter in "Zz":
                points.append(points[0])
                x, y = points[0]
            if letter in "MmZz" and points:
                found.append(np.array(points))
                points = []
            continue
        near = (x, y) if letter.islower() else (0.0, 0.0)
        if letter in "Hh":
            x = near[0] + float(token)
        elif letter in "Vv":
            y = near[1] + float(token)
        else:
            x, y = near[0] + float(token), near[1] + float(next(tokens))
        points.append((x, y))
        letter = {"M": "L", "m": "l"}.get(letter, letter)
    return [*found, np.array(points)] if points else found
