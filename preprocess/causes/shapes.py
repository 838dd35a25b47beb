"""Shapes of causes in a map of tones: heat, plane, bell; columns with their usual sizes in ΔL*."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.causes.marked_places import MarkedPlaces

_USUAL = 4.0
"""Usual strength of a cause, ΔL*."""

_STEEPEST = 80.0
"""Most ΔL* for each e-fold of the heat index."""

_BEND = 2.5
"""How much steeper the tone may grow over each e-fold of the index."""

_DISHED = 0.8
"""Usual bend of a tilt out of focus, ΔL*."""

_RADII = 1.8, 2.7, 4.0, 5.5
"""Of bells, mm."""

_DIRECTIONS = 6
"""Directions along which a plane may be bent."""

_FORMS = 0.77, 1.0, 1.3
"""How much wider than high bells are, as roots."""

_APART = 0.6
"""Distance of the middles of bells, as a share of their radius."""

_PATCH = 7.0
"""Usual depth of a patch, ΔL*."""


def level_shape(places: MarkedPlaces) -> Floats:
    """The mean tone: one column that may be anything."""
    return np.full((len(places), 1), 30.0)


def heat_shapes(places: MarkedPlaces) -> Floats:
    """What the drawing alone does: index, its square, and what twice the spread would change."""
    index = places.index - np.median(places.index)
    wider = places.wider - np.median(places.wider)
    size = (float(np.std(index)) + float(np.std(wider))) / 2
    steep = min(_USUAL / max(size, 1e-9), _STEEPEST)
    more = wider - index
    bent = _BEND * np.column_stack([index**2, 2 * index * more, more**2])
    return steep * np.column_stack([index, more, bent])


def plane_shapes(places: MarkedPlaces) -> Floats:
    """A tilt or the focus: a plane, and what bends it along each of a few directions."""
    u, v = ((held - held.mean()) / max(float(np.std(held)), 1e-9) for held in (places.x, places.y))
    turns = np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    along = np.outer(u, np.cos(turns)) + np.outer(v, np.sin(turns))
    flat = _USUAL / np.sqrt(2) * np.column_stack([u, v])
    return np.column_stack([flat, _DISHED * (along**2 - 1)])


def bell_shapes(places: MarkedPlaces) -> tuple[Floats, Floats]:
    """Bells over the marked places: middle x and y, radius along x and y of each; their columns."""
    every = [
        np.column_stack([middles, np.full((len(middles), 2), (radius * form, radius / form))])
        for radius in _RADII
        for middles in [_middles(places, radius)]
        for form in _FORMS
    ]
    bells = np.concatenate(every)
    return bells, _PATCH * bell_tones(places, bells)


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
