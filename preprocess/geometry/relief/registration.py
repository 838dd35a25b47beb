"""Registration: how a part lies under an outline that was drawn of it.

Both boundaries become rings of points at equal distances, as complex numbers. The correlation of
two rings, by the fast Fourier transform, gives for each pair of starting points the best turn at
once: the sum of d * conj(m) has its angle, and its size is larger the better they agree
(orthogonal Procrustes). Rigid steps to nearest points then use all rings, those of holes too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from preprocess.geometry.base.affine import compose, map_points, translation
from preprocess.geometry.overlay.affine_image import apply_affine

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Geometries, Points
    from preprocess.model.artwork.shape import Matrix

_POINTS = 2048
_NEARLY_BEST = 0.97
_MOST_TRIED = 12
_FEW, _FEW_STEPS, _STEPS = 200, 15, 40
_HOPELESS, _ONCE, _MOST_SETTLED = 2.0, 0.02, 8
_HOPE = 0.3
"""mm by which a rough fit may be worse than the best rough one and still be settled."""

_RIVAL = 0.05
"""mm by which a fit may be worse than the best and still be as good to the eye."""

_SETTLED = 1e-6

_HALF_TURN = -179.99
"""Degrees: half a turn is 180, whichever way it was rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineFit:
    """One way to lay the part under its drawn outline.

    `turn` is counter-clockwise as seen, degrees, after mirroring left and right where `mirrored`;
    `gap` is the largest distance between the outlines, mm; `matrix` maps part to drawing.
    """

    turn: float
    mirrored: bool
    gap: float
    matrix: Matrix


@lru_cache(maxsize=8)
def fit_outline(part: MultiPolygon, drawn: MultiPolygon) -> tuple[OutlineFit, ...]:
    """Ways in which a part fits its drawn outline, the best first, then those as good.

    Of several as good, that without mirroring and with the smallest turn comes first. The last few
    are kept: ways to mark one drawing ask for the same fit again and again.

    Args:
        part: its outline with holes, mm.
        drawn: the outline in the drawing, mm; of parts of several pieces the largest leads.
    """
    line = shapely.union_all([one.boundary for one in drawn.geoms])
    shapely.prepare(line)
    few, many = _along(part, _FEW), _along(part, _POINTS)
    roughly = [
        _settled(few, line, start, _FEW_STEPS)
        for mirrored in (False, True)
        for start in _starts(part, drawn, mirrored=mirrored)
    ]
    gaps = [float(shapely.distance(_placed(few, one), line).max()) for one in roughly]
    hopeful = _hopeful(roughly, gaps)
    fits = [_fit(part, drawn, _settled(many, line, one, _STEPS)) for one in hopeful]
    least = min(fit.gap for fit in fits)
    good = [fit for fit in fits if fit.gap <= least + _RIVAL]
    good.sort(key=lambda fit: (fit.mirrored, round(abs(fit.turn), 3), -fit.turn))
    return tuple(_unlike(good))


def _hopeful(maps: list[Matrix], gaps: list[float]) -> list[Matrix]:
    """Rough fits worth settling, each once; of those that fit nowhere, one."""
    order = sorted(range(len(maps)), key=lambda n: round(gaps[n], 2))
    if gaps[order[0]] > _HOPELESS:
        return [maps[order[0]]]
    found: list[Matrix] = []
    for number in order:
        near = gaps[number] <= gaps[order[0]] + _HOPE
        if near and not any(np.allclose(maps[number], one, atol=_ONCE) for one in found):
            found.append(maps[number])
    return found[:_MOST_SETTLED]


def size_ratio(part: MultiPolygon, drawn: MultiPolygon) -> float:
    """How many times its drawn size the part is, by the root of their areas within outlines."""
    return math.sqrt(_filled(part) / _filled(drawn))


def _filled(area: MultiPolygon) -> float:
    return float(sum(Polygon(one.exterior).area for one in area.geoms))


def _unlike(fits: list[OutlineFit]) -> list[OutlineFit]:
    found: list[OutlineFit] = []
    for fit in fits:
        if not any(_alike(fit, other) for other in found):
            found.append(fit)
    return found


def _alike(one: OutlineFit, other: OutlineFit) -> bool:
    apart = abs((one.turn - other.turn + 180) % 360 - 180)
    return one.mirrored == other.mirrored and apart < 1


def _starts(part: MultiPolygon, drawn: MultiPolygon, *, mirrored: bool) -> Iterator[Matrix]:
    """Maps to begin with: no turn at all, and those at which the two rings agree best."""
    flip = (-1.0 if mirrored else 1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    own = _ring(apply_affine(part, flip))
    theirs = _ring(drawn)
    middle, target = own.mean(), theirs.mean()
    agreement = np.fft.ifft(np.fft.fft(theirs - target) * np.conj(np.fft.fft(own - middle)))
    size = np.abs(agreement)
    peak = (size >= np.roll(size, 1)) & (size > np.roll(size, -1))
    peak &= size > _NEARLY_BEST * size.max()
    peaks = np.flatnonzero(peak)
    best = peaks[np.argsort(-size[peaks], kind="stable")][:_MOST_TRIED]
    for turn in (1 + 0j, *(agreement[best] / size[best])):
        shift = target - turn * middle
        turned = (turn.real, turn.imag, -turn.imag, turn.real, shift.real, shift.imag)
        yield compose(turned, flip)


def _ring(area: MultiPolygon, count: int = _POINTS) -> Floats:
    """Points at equal distances along the outline of the largest part, as complex numbers."""
    largest = max(area.geoms, key=lambda one: Polygon(one.exterior).area)
    points = _spaced(largest.exterior, count)
    return points[:, 0] + 1j * points[:, 1]


def _spaced(ring: shapely.LinearRing, count: int) -> Points:
    """So many points at equal distances along a ring, always the same way round."""
    turned = ring if ring.is_ccw else ring.reverse()
    at = np.arange(count) * (ring.length / count)
    return shapely.get_coordinates(shapely.line_interpolate_point(turned, at))


def _along(part: MultiPolygon, count: int) -> Points:
    """Points along all rings, so many along the longest and in proportion along the others."""
    rings = [ring for one in part.geoms for ring in (one.exterior, *one.interiors)]
    longest = max(ring.length for ring in rings)
    return np.concatenate([_spaced(r, max(16, int(count * r.length / longest))) for r in rings])


def _placed(points: Points, matrix: Matrix) -> Geometries:
    return shapely.points(map_points(points, matrix))


def _settled(points: Points, line: shapely.Geometry, matrix: Matrix, steps: int) -> Matrix:
    """Rigid steps towards the nearest places of the drawn outline, until nothing moves."""
    for _ in range(steps):
        step = _step(map_points(points, matrix), line)
        matrix = compose(step, matrix)
        if max(abs(value - same) for value, same in zip(step, _STAY, strict=True)) < _SETTLED:
            break
    return matrix


def _fit(part: MultiPolygon, drawn: MultiPolygon, matrix: Matrix) -> OutlineFit:
    a, b, c, d, _, _ = matrix
    turn = math.degrees(math.atan2(c, d))
    return OutlineFit(
        turn=turn + 360 if turn < _HALF_TURN else turn,
        mirrored=bool(a * d < b * c),
        gap=_gap(part, drawn, matrix),
        matrix=matrix,
    )


_STAY = translation(0.0, 0.0)


def _step(points: Points, line: shapely.Geometry) -> Matrix:
    """The turn and shift that bring points nearest to their nearest places on a line."""
    pairs = shapely.shortest_line(shapely.points(points), line)
    near = shapely.get_coordinates(pairs)[1::2]
    here, there = points.mean(axis=0), near.mean(axis=0)
    cross = (points - here).T @ (near - there)
    angle = math.atan2(cross[0, 1] - cross[1, 0], cross[0, 0] + cross[1, 1])
    cos, sin = math.cos(angle), math.sin(angle)
    x = there[0] - (cos * here[0] - sin * here[1])
    y = there[1] - (sin * here[0] + cos * here[1])
    return cos, sin, -sin, cos, float(x), float(y)


def _gap(part: MultiPolygon, drawn: MultiPolygon, matrix: Matrix) -> float:
    """The largest distance from one outline to the other; of holes only those that both have."""
    laid = apply_affine(part, matrix)
    count = [sum(len(one.interiors) for one in area.geoms) for area in (laid, drawn)]
    if count[0] != count[1]:
        laid, drawn = (_without_holes(area) for area in (laid, drawn))
    return float(shapely.hausdorff_distance(laid.boundary, drawn.boundary, densify=0.05))


def _without_holes(area: MultiPolygon) -> MultiPolygon:
    return shapely.MultiPolygon([Polygon(one.exterior) for one in area.geoms])
