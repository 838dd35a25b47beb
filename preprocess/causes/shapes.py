"""Shapes of causes in a map of tones: heat, plane, bell; columns with their usual sizes in ΔL*."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.causes.marked_places import MarkedPlaces

_USUAL = 4.0
"""Usual strength of a cause, ΔL*."""

_STEEPEST = 80.0
"""Most ΔL* for each e-fold of the heat index."""

_SPREADS = 0.0, 0.4, 0.8, 1.2, 1.6
"""Tried spreads: how far from the believed one (0) to twice of it (1) heat lies."""

_BEND = 2.5
"""How much steeper the tone may grow over each e-fold of the index."""

_DISHED = 0.8
"""Usual bend of a tilt out of focus, ΔL*."""

_RADII = 1.8, 2.7, 4.0, 5.5
"""Of bells, mm."""

_DIRECTIONS, _BESIDE = 8, 0.6
"""Directions of a tilt, and the usual slope across them, ΔL*."""

_FORMS = 0.77, 1.0, 1.3
"""How much wider than high bells are, as roots."""

_APART = 0.6
"""Distance of the middles of bells, as a share of their radius."""

_SIZES = 0.87, 1.0, 1.15
"""Radii of finer bells over that of the one they stand for."""

_PATCH = 7.0
"""Usual depth of a patch, ΔL*."""


def level_shape(places: MarkedPlaces) -> Floats:
    """The mean tone: one column that may be anything."""
    return np.full((len(places), 1), 30.0)


def heat_shapes(places: MarkedPlaces) -> tuple[Floats, ...]:
    """What the drawing alone does, at each of some spreads: the excess of heat, and its square."""
    index = places.index - np.median(places.index)
    wider = places.wider - np.median(places.wider)
    size = (float(np.std(index)) + float(np.std(wider))) / 2
    steep = min(_USUAL / max(size, 1e-9), _STEEPEST)
    heats = [index + share * (wider - index) for share in _SPREADS]
    more = wider - index
    bent = _BEND * np.column_stack([index**2, 2 * index * more, more**2])
    full = steep * np.column_stack([index, more, bent])
    return (*(steep * np.column_stack([heat, _BEND * heat**2]) for heat in heats), full)


def tilt_shapes(places: MarkedPlaces) -> tuple[Floats, ...]:
    """A tilt or the focus, along each of some directions: a slope and its bend along it.

    A slope across it covers the directions between two of them.
    """
    u, v = ((held - held.mean()) / max(float(np.std(held)), 1e-9) for held in (places.x, places.y))
    found = []
    for turn in np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS:
        along, across = u * np.cos(turn) + v * np.sin(turn), v * np.cos(turn) - u * np.sin(turn)
        found.append(
            np.column_stack(
                [_USUAL * along, _BESIDE * across, _DISHED * (along**2 - np.mean(along**2))]
            )
        )
    return tuple(found)


def bell_shapes(places: MarkedPlaces) -> Floats:
    """Bells over the marked places: middle x and y, radius along x and y of each."""
    every = [
        np.column_stack([middles, np.full((len(middles), 2), (radius * form, radius / form))])
        for radius in _RADII
        for middles in [_middles(places, radius)]
        for form in _FORMS
    ]
    return np.concatenate(every)


def bell_columns(places: MarkedPlaces, bells: Floats) -> Floats:
    """Columns of bells with their usual depth: places × bells."""
    return _PATCH * bell_tones(places, bells)


def finer_bells(bell: Floats) -> Floats:
    """Bells that share the room of one of the grid: some a third of its step aside, or smaller."""
    x, y, along, down = bell.tolist()
    radius = (along * down) ** 0.5
    step = _APART * radius / 3
    return np.array(
        [
            (x + u * step, y + v * step, along * size, down * size)
            for u, v, size in product((-1, 0, 1), (-1, 0, 1), _SIZES)
        ]
    )


def bell_tones(places: MarkedPlaces, bells: Floats) -> Floats:
    """Bells of height 1: places × bells."""
    x = (places.x[:, None] - bells[:, 0]) / bells[:, 2]
    y = (places.y[:, None] - bells[:, 1]) / bells[:, 3]
    return np.asarray(np.exp(-(x**2 + y**2) / 2))


def _middles(places: MarkedPlaces, radius: float) -> Floats:
    """Middles on a grid, where something is marked."""
    step = _APART * radius
    near = np.unique(
        np.round(np.column_stack([places.x, places.y]) / step).astype(np.int64), axis=0
    )
    return np.asarray(near * step)
