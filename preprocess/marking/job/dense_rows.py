"""Rounds of own rows that lie dense together, whatever step, path or colour each of them is in.

Rows of one round may lie too far apart, or be too few, to be told from lines by themselves. All
rows of one layer and direction are looked at together.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.job.traced_rows import Round

_FEWEST = 8
"""Fewer rows than this are lines, not a raster."""

_FEW = 3
"""Rows of a small shape, apart from all others, that may be part of a raster."""

_LIKE = 0.05
"""Share by which their distance may differ from that of the whole raster."""

_WIDEST = 0.6
"""Rows farther apart than this, mm, do not heat one another while they are marked."""

_MOST = 0.5
"""Share of the rows of a round that must lie dense; the others may be those of a dot by itself."""

_ALIKE = 1e-3
"""mm within which rows of two rounds are one place."""


_ALIKE_ANGLE = 0.02
"""Degrees within which rounds have one direction: lines of 0.5 mm on a grid of 1e-4 mm."""


def dense_rounds(
    candidates: Mapping[int, Sequence[Round]], layers: Mapping[int, str]
) -> dict[int, tuple[Round, ...]]:
    """Rounds of each step that make up a raster, each with its share of its pitch.

    Args:
        candidates: rounds by step.
        layers: the layer of each step.
    """
    alike = _alike_angles({one.angle for rounds in candidates.values() for one in rounds})
    families: dict[tuple[str, float], list[Round]] = {}
    for step, rounds in candidates.items():
        for one in rounds:
            families.setdefault((layers[step], alike[one.angle]), []).append(one)
    rows = {key: _rows(rounds) for key, rounds in families.items()}
    found: dict[int, tuple[Round, ...]] = {}
    for step, rounds in candidates.items():
        kept = (_kept(one, rows[layers[step], alike[one.angle]]) for one in rounds)
        found[step] = tuple(one for one in kept if one is not None)
    return found


def _alike_angles(angles: set[float]) -> dict[float, float]:
    """The first of the angles that each is nearly equal to: they are measured on lines."""
    found: dict[float, float] = {}
    first = -1.0
    for angle in sorted(angles):
        first = angle if angle - first > _ALIKE_ANGLE else first
        found[angle] = first
    return found


def _rows(rounds: Sequence[Round]) -> tuple[Floats, Floats]:
    """Places of all rows of a family that lie dense, mm ascending, and the distance at each."""
    y = np.unique(np.round(np.concatenate([one.y for one in rounds]) / _ALIKE)) * _ALIKE
    gap = np.diff(y, prepend=y[0] - 2 * _WIDEST)
    bunch = np.cumsum(gap > _WIDEST + _ALIKE) - 1
    some = np.bincount(bunch)
    inner = gap <= _WIDEST + _ALIKE
    apart = np.zeros(len(some))
    for number in np.flatnonzero(some >= _FEW):
        apart[number] = np.median(gap[inner & (bunch == number)])
    usual = float(np.median(gap[inner])) if inner.any() else 0.0
    alike = (some >= _FEW) & (np.abs(apart - usual) <= _LIKE * usual)
    dense = (some >= _FEWEST) | (alike & (some[alike].sum() >= _FEWEST))
    return y[dense[bunch]], apart[bunch][dense[bunch]]


def _kept(one: Round, family: tuple[Floats, Floats]) -> Round | None:
    places, apart = family
    if not len(places):
        return None
    nearest = np.clip(np.searchsorted(places, one.y - _ALIKE), 0, len(places) - 1)
    among = np.abs(places[nearest] - one.y) <= _ALIKE
    if among.mean() < _MOST:
        return None
    distance = float(np.median(apart[nearest[among]]))
    pitch = one.pitch if len(one.y) > 1 else distance
    return replace(one, pitch=pitch, share=min(1.0, distance / pitch))
