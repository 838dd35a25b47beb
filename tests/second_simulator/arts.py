"""Eleven small motifs for garden labels, one of each kind that heats unevenly; SVG path data, mm.

They lie on a page of WIDE × HIGH.
"""

from __future__ import annotations

import math
import re

import numpy as np

WIDE, HIGH = 34.0, 24.0


def _disc(x: float, y: float, radius: float, corners: int = 40) -> str:
    turns = [2 * math.pi * n / corners for n in range(corners)]
    points = [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]
    return "M" + " L".join(f"{px:.4f} {py:.4f}" for px, py in points) + " Z"


def _box(left: float, top: float, right: float, bottom: float) -> str:
    return f"M{left:g} {top:g} L{right:g} {top:g} L{right:g} {bottom:g} L{left:g} {bottom:g} Z"


def _letters() -> str:
    """MINT, strokes 0.9 mm wide."""
    m = "M2 3 L3.6 3 L5.2 6.6 L6.8 3 L8.4 3 L8.4 11 L7.5 11 L7.5 4.9 L5.6 9 L4.8 9 L2.9 4.9 L2.9 11"
    n = "M12.4 3 L13.4 3 L16.6 9.2 L16.6 3 L17.5 3 L17.5 11 L16.5 11 L13.3 4.8 L13.3 11 L12.4 11 Z"
    t = "M18.9 3 L25.3 3 L25.3 3.9 L22.55 3.9 L22.55 11 L21.65 11 L21.65 3.9 L18.9 3.9 Z"
    return " ".join((f"{m} L2 11 Z", _box(9.9, 3, 10.8, 11), n, t))


def _script() -> str:
    """A wavy tendril, 0.5 mm wide in the middle and thinner towards its ends."""
    upper, lower = [], []
    for n in range(161):
        s = n / 160
        x, y = 2 + 26 * s, 6 + 2.6 * math.sin(4 * math.pi * s)
        slope = 2.6 * 4 * math.pi / 26 * math.cos(4 * math.pi * s)
        half = (0.05 + 0.22 * math.sin(math.pi * s)) / math.hypot(1, slope)
        upper.append((x + slope * half, y - half))
        lower.append((x - slope * half, y + half))
    points = upper + lower[::-1]
    return "M" + " L".join(f"{x:.4f} {y:.4f}" for x, y in points) + " Z"


def _comb() -> str:
    """A row of plant sticks on one board."""
    return " ".join([_box(2, 2, 26, 5), *(_box(2 + 3 * n, 5, 2.8 + 3 * n, 12) for n in range(9))])


ARTS = {
    "blade": "M2 2 Q10 3.4 26 2.6 Q21 7 18 11 Q15.4 15 14.6 19 Q13.4 15 10.6 11 Q7 6 2 2 Z",
    "block with a tail": "M2 2 L26 2 L26 8 L15 8 Q14.5 12 14.3 18 L13.7 18 Q13.5 12 13 8 L2 8 Z",
    "waist": "M3 2 L21 2 Q14 7 12.5 9 Q14 11 21 16 L3 16 Q10 11 11.5 9 Q10 7 3 2 Z",
    "lettering": _letters(),
    "comb": _comb(),
    "discs": " ".join(
        _disc(4 + 5 * n + 2.5 * (m % 2), 4 + 4.4 * m, 1.5) for m in range(3) for n in range(4)
    ),
    "ring": _disc(10, 10, 7, 90) + " " + _disc(10, 10, 5.6, 90),
    "script": _script(),
    "stalk": "M2 5 Q14 3.8 28 5.2 Q26 6 28 6.4 Q14 6.6 2 5.6 Z M10 4.4 Q12 2 15 2 Q14 4 12 4.5 Z",
    "stipple": " ".join(
        _disc(2 + 1.7 * n + 0.85 * (m % 2), 2 + 1.5 * m, 0.25 + 0.04 * ((n + 2 * m) % 5), 24)
        for m in range(6)
        for n in range(11)
    ),
    "large solid": _box(2, 2, 30, 16),
}  # fmt: skip
"""By kind; each is one path, filled by the even-odd rule."""

SMALL = {
    "leaflet": "M2 2 L6.6 2 Q6.6 4.6 4.6 7.4 L4 7.4 Q2 4.6 2 2 Z",
    "two beds": f"{_box(2, 2, 8, 3.905)} {_box(2, 3.92, 8, 6)}",
    "twig": "M2 2 Q8 1.7 14 2.1 Q13.4 2.5 14 2.9 Q8 3.1 2 2.8 Z",
    "stems": "M3 2 L3.07 2 L3.97 5 L3.9 5 Z M6.5 2 L6.61 2 L6.11 5 L6 5 Z "
    "M9 2 L9.16 2 L9.46 5 L9.3 5 Z",
}
"""Motifs for tests alone, not in the tables."""


def drawing(name: str) -> bytes:
    """The motif as a drawing."""
    path = (ARTS | SMALL)[name]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE:g}mm" height="{HIGH:g}mm" '
        f'viewBox="0 0 {WIDE:g} {HIGH:g}"><path fill-rule="evenodd" d="{path}"/></svg>'
    ).encode()


def outlines(name: str, pieces: int = 24) -> list[np.ndarray]:
    """The closed polylines of a motif, each n × 2, mm; every curve as so many chords."""
    found, points = [], []
    for letter, rest in re.findall(r"([MLQZ])([^MLQZ]*)", (ARTS | SMALL)[name]):
        numbers = np.array([float(text) for text in rest.split()]).reshape(-1, 2)
        if letter == "Q":
            for bend, end in numbers.reshape(-1, 2, 2):
                start = points[-1]
                t = np.arange(1, pieces + 1)[:, None] / pieces
                points += list((1 - t) ** 2 * start + 2 * t * (1 - t) * bend + t**2 * end)
        elif letter in "ML":
            points += list(numbers)
        else:
            found.append(np.array([*points, points[0]]))
            points = []
    return found
