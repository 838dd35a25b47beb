"""Drawings as SVG, of any number of points and shapes: a fern label, and a bed of leaves.

All coordinates come from formulas; the leaves never touch.
"""

from __future__ import annotations

import numpy as np

PAGE = 84.0
"""Side of a square page, in mm."""


def svg(outlines, width=PAGE, height=PAGE, extra="") -> bytes:
    """Closed outlines (N × 2 in mm) as one filled path each."""
    body = "".join(f'<path id="leaf-{n}" d="{path(ring)}"/>' for n, ring in enumerate(outlines))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{body}{extra}</svg>'
    ).encode()


def path(ring) -> str:
    return "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in ring) + "Z"


def leaf(points: int, length: float, width: float, teeth: int):
    """A leaf with teeth along its rim, its stalk at the origin, lying along +x."""
    t = np.linspace(0, 1, points // 2 + 1)
    half = width / 2 * np.sin(np.pi * t) * (1 + 0.12 * np.sin(2 * np.pi * teeth * t))
    upper = np.column_stack((length * t, half))
    return np.concatenate((upper, (upper * (1, -1))[-2:0:-1]))


def bed(shapes: int, vertices: int, side: float = PAGE) -> list[np.ndarray]:
    """So many leaves on a lattice over a square page, of so many vertices in all."""
    across = int(np.ceil(np.sqrt(shapes)))
    cell = side / across
    one = leaf(max(8, vertices // shapes), 0.8 * cell, 0.5 * cell, teeth=2)
    places = [divmod(number, across) for number in range(shapes)]
    return [one + np.array(((x + 0.1) * cell, (y + 0.5) * cell)) for y, x in places]


def framed(shapes: int, vertices: int, side: float = PAGE) -> bytes:
    """Such a bed on a part that is as large as the page, with its outline."""
    near, far = 0.1, side - 0.1
    edge = '<path id="edge" fill="none" stroke="#888" stroke-width=".1" d="{}"/>'
    corners = np.array([(near, near), (far, near), (far, far), (near, far)])
    return svg(bed(shapes, vertices, side), side, side, edge.format(path(corners)))


def fern(vertices: int, pairs: int = 19) -> bytes:
    """A frond of 2 × pairs leaflets on a label of 84 × 36 mm with its outline."""
    each = vertices // (2 * pairs)
    leaves = []
    for number in range(pairs):
        x, size = 14 + 3.1 * number, 11 - 0.4 * number
        for side in (-1, 1):
            turn = np.radians(55) * side
            cos, sin = np.cos(turn), np.sin(turn)
            ring = leaf(each, size, 0.2 * size, teeth=each // 60)
            leaves.append(ring @ np.array([(cos, sin), (-sin, cos)]) + (x, 18 + 0.5 * side))
    edge = '<path id="edge" fill="none" stroke="#888" stroke-width=".1" d="M2 2H82V34H2Z"/>'
    return svg(leaves, 84, 36, edge)


def traced_frond(vertices: int, pairs: int = 20, teeth: int = 5) -> np.ndarray:
    """One connected outline of a frond, as if traced: wavy by some 10 µm, with hundreds of tips.

    More vertices follow the same waves more closely. Pairs of toothed leaflets on a tapering stalk.
    """
    upper = [np.array([(4.0, 0.7)])]
    for number in range(pairs):
        along = 6 + 3.5 * number
        length = 13.5 * np.sin(np.pi * (0.2 + 0.68 * (number + 1) / pairs)) + 2.5
        turned = np.radians(62)
        way = np.array([(np.cos(turned), np.sin(turned)), (-np.sin(turned), np.cos(turned))])
        upper.append(_toothed(length, 0.55, teeth) @ way + (along, 0.5))
    upper.append(np.array([(80.0, 0.3), (82.0, 0.0)]))
    half = np.concatenate(upper)
    ring = np.concatenate((half, (half * (1, -1))[-2::-1], half[:1]))
    way = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))))
    at = np.linspace(0, way[-1], vertices, endpoint=False)
    points = np.column_stack([np.interp(at, way, ring[:, axis]) for axis in (0, 1)])
    rng = np.random.default_rng(11)
    for wave in (0.37, 0.61, 1.13, 1.9):
        turns = np.round(way[-1] / wave)
        phase = rng.uniform(0, 2 * np.pi, 2)
        swing = 2 * np.pi * turns * (at / way[-1])[:, None] + phase
        points += 0.006 * np.sin(swing)
    return points + np.array((0.5, 18.0))


def _toothed(length: float, half: float, teeth: int) -> np.ndarray:
    """Outline of a leaflet along +x, from its foot and back, teeth leaning towards its tip."""
    lower = [(0.0, -0.25)]
    for tooth in range(teeth):
        t = (tooth + 1.2) / (teeth + 1.2)
        x, wide = length * t, half * (1 - t) + 0.12
        lower += [(x, -wide), (x + 0.40, -wide - 0.5), (x + 0.46, -wide - 0.48)]
        lower += [(x + 0.45, -wide * 0.9)]
    lower += [(length, -0.04)]
    return np.array([*[(x, -y) for x, y in lower], *lower[::-1]])


def framed_frond(vertices: int) -> bytes:
    """That frond on a label of 84 × 36 mm with its outline."""
    edge = '<path id="edge" fill="none" stroke="#888" stroke-width=".1" d="M.2 .2H83.8V35.8H.2Z"/>'
    return svg([traced_frond(vertices)], 84, 36, edge)
