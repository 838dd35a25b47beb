"""A finished part: a leaf on a label of the nursery, marked stronger where its rows are short."""

from __future__ import annotations

import numpy as np

from tests.photos.plastic import PX, area_mask, polygons

RECIPE = """recipe: 1
design: leaf.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s}
filament: {name: moss-green PETG, polymer: PETG, spread: 0.3 mm}
part: {outline: [60 mm, 40 mm], thickness: 3 mm}
settings: {engrave: {power: 40 %, speed: 900 mm/s, pitch: 0.1 mm, direction: one-way}}
passes: [merge]
"""

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
  <path id="leaf" d="M8 5 H26 L18 35 L16 35 Z"/>
  <path id="stem" d="M34 6 H38 V34 H34 Z"/>
  <path id="seed" d="M46 10 H54 L52 22 L48 22 Z"/>
</svg>
"""


def tones(svg, rng, *, gain=0.5, tilt=0.0):
    """Share of mark on the plate: heat that grows where rows are short, and a tilt of the bed."""
    drawn = polygons(svg)
    areas = [area_mask(rings, (60.0, 40.0)) for rings in drawn.values() if rings[0][1]]
    mask = np.max(areas, axis=0)
    x = (np.indices(mask.shape)[1] + 0.5) / PX
    spans = np.zeros_like(mask)
    for area in areas:
        inside = area > 0.5
        spans += np.where(inside, inside.sum(axis=1, keepdims=True) / PX, 0.0)
    share = 0.5 * (1 + gain * np.exp(-spans / 3.0)) + tilt * (x / 60 - 0.5)
    return mask * np.clip(share, 0.05, 0.98) * rng.uniform(0.95, 1.05)
