"""Drawings to measure on, made from formulas: lists of closed contours, N x 2 in mm.

Petals, bands and a rosette cross themselves all over, the coast is rough at every scale, the
squares and letters are many, the hairlines are thin.
"""

import numpy as np


def rosette(points=20_000, radius=40.0):
    """One curve that turns seven times and crosses itself."""
    t = np.linspace(0, 2 * np.pi, points, endpoint=False)
    r = radius * (0.6 + 0.25 * np.cos(37 * t) + 0.12 * np.cos(11 * t))
    return [np.column_stack((r * np.cos(7 * t), r * np.sin(7 * t)))]


def petals(around=72, rings=8, points=60, radius=50.0):
    """Overlapping petals, each simple."""
    t = np.linspace(0, 2 * np.pi, points, endpoint=False)
    petal = np.column_stack((3.5 * np.cos(t), 1.3 * np.sin(t) * (1 - 0.5 * np.cos(t))))
    for ring in range(rings):
        out = radius * (ring + 1) / rings * 0.85
        for step in range(around):
            angle = 2 * np.pi * (step + 0.5 * (ring % 2)) / around
            yield turned(petal + np.array((out, 0)), angle)


def turned(points, angle):
    cos, sin = np.cos(angle), np.sin(angle)
    return points @ np.array([(cos, sin), (-sin, cos)])


def bands(lines=24, points=3000, radius=45.0, half=0.15):
    """Ring bands that swing through one another, as outer and inner contours."""
    t = np.linspace(0, 2 * np.pi, points, endpoint=False)
    way = np.column_stack((np.cos(t), np.sin(t)))
    for line in range(lines):
        r = radius * (0.6 + 0.3 * np.sin(12 * t + 2 * np.pi * line / lines))
        yield (r + half)[:, None] * way
        yield ((r - half)[:, None] * way)[::-1]


def squares(count=100, pitch=1.0, size=0.6):
    """count x count squares; with pitch = size their edges agree only on paper."""
    for i in range(count):
        for j in range(count):
            x, y = i * pitch, j * pitch
            yield np.array([(x, y), (x + size, y), (x + size, y + size), (x, y + size)])


def coast(halvings=15, radius=45.0):
    """A hexagon whose edges are broken at random, again and again: 6 · 2^halvings vertices."""
    rng = np.random.default_rng(3)
    z = radius * np.exp(2j * np.pi * np.arange(6) / 6)
    for _ in range(halvings):
        edge = np.roll(z, -1) - z
        middle = z + edge / 2 + 1j * edge * rng.normal(0, 0.16, len(z))
        z = np.column_stack((z, middle)).ravel()
    return [np.column_stack((z.real, z.imag))]


def hairlines(count=300, width=0.06, length=80.0, points=40):
    """Thin wavy lines that cross."""
    rng = np.random.default_rng(1)
    x = np.linspace(0, length, points)
    for _ in range(count):
        y = rng.uniform(0, length) + rng.uniform(1, 5) * np.sin(
            x / rng.uniform(3, 12) + rng.uniform(0, 6)
        )
        yield np.column_stack((np.r_[x, x[::-1]], np.r_[y + width / 2, y[::-1] - width / 2]))


def lettering(rows=20, columns=40, height=4.0, points=60):
    """Lines of made-up letters: bowls, rings, arcs, strokes that overlap, a stem with a dot."""
    rng = np.random.default_rng(2)
    for row in range(rows):
        for column in range(columns):
            at = (column * height * 0.66, row * height * 1.1)
            yield [part + at for part in _LETTERS[rng.integers(len(_LETTERS))](points)]


def _oval(x, y, a, b, points):
    t = np.linspace(0, 2 * np.pi, points, endpoint=False)
    return np.column_stack((x + a * np.cos(t), y + b * np.sin(t)))


def _bar(x, y, width, height):
    return np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], float)


def _ring(points):
    return [_oval(1.4, 2, 1.4, 2, points), _oval(1.4, 2, 0.75, 1.4, points)[::-1]]


def _bowls(points):
    inner = (_oval(1.4, 2.9, 0.6, 0.6, points // 2), _oval(1.4, 1.1, 0.7, 0.6, points // 2))
    return [_oval(1.4, 2, 1.4, 2, points), *(part[::-1] for part in inner)]


def _arc(points):
    t = np.linspace(0.6, 2 * np.pi - 0.6, points)
    way = np.column_stack((np.cos(t), np.sin(t)))
    return [np.vstack(((1.4, 2) + way * (1.4, 2), ((1.4, 2) + way * (0.8, 1.45))[::-1]))]


def _strokes(_):
    return [_bar(0, 0, 0.5, 4), _bar(2, 0, 0.9, 4), _bar(0.2, 1.8, 2.1, 0.4)]


def _dotted(points):
    return [_bar(1, 0, 0.5, 2.7), _oval(1.25, 3.4, 0.35, 0.35, points // 2)]


_LETTERS = (_ring, _bowls, _arc, _strokes, _dotted)
