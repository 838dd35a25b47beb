"""Tones of cells, and of places along a blade: the mark against the ground within 2 mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon, box

from preprocess.geometry.base.normalise import as_area
from preprocess.photo.libraries import opencv
from preprocess.photo.srgb import lightness

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Booleans, Floats32
    from preprocess.photo.tone.plate_view import PlateView

RING = 2.0
"""mm around a place within which its ground is taken."""

SWELL = 0.05
"""Relative excess of the ground from which a lamp is mirrored there."""

_BLOCK = 0.5
"""Side of a block for the unevenness, mm."""

_TRIMMED = 0.05
"""Share of the lightest and of the darkest pixels that do not count."""

_FEW_GROUND, _FEW_MARK, _FEW_BLOCKS = 30, 9, 4
_MOST_GLARE = 0.2


@dataclass(frozen=True, slots=True)
class MarkedPlace:
    """A place to be measured: its area, cell, distance from the wide end and row span (mm)."""

    area: MultiPolygon
    cell: str
    at: float | None = None
    span: float | None = None


@dataclass(frozen=True, slots=True)
class PlaceTone:
    """Tone of a place in one photo; `why` it is left out, else empty."""

    place: MarkedPlace
    ln_ratio: float
    unevenness: float | None
    speckle: float
    why: str = ""


def place_tone(view: PlateView, swell: Floats32, place: MarkedPlace, inset: float) -> PlaceTone:
    """Measure a place; `inset` is how far from its edges it is looked at (mm)."""
    left, top, right, bottom = place.area.bounds
    around = (left - RING, top - RING, right + RING, bottom + RING)
    rows, columns = view.window(around)
    light, bare = view.luminance[rows, columns], view.ground[rows, columns]
    inside = view.mask(place.area, around)
    core = _core(inside, inset * view.px)
    near = _near(inside, RING * view.px) & bare
    glare = swell[rows, columns] > SWELL
    if core.sum() < _FEW_MARK or near.sum() < _FEW_GROUND:
        return PlaceTone(place, 0.0, None, 0.0, "no bare plastic beside it is seen")
    if view.clipped[rows, columns][core | near].mean() > _TRIMMED / 2:
        return PlaceTone(place, 0.0, None, 0.0, "too bright in the picture")
    if max(glare[core].mean(), glare[near].mean()) > _MOST_GLARE:
        return PlaceTone(place, 0.0, None, 0.0, "a lamp is mirrored there")
    ground = _trimmed_mean(light[near])
    ratio = _trimmed_mean(light[core]) / ground
    side = max(1, round(_BLOCK * view.px))
    blocks = np.array(list(_blocks(light / np.float32(ground), core, side)))
    uneven = float(np.std(np.log(blocks))) if len(blocks) >= _FEW_BLOCKS else None
    speckle = (uneven or 0.0) / max(len(blocks), 1) ** 0.5
    return PlaceTone(place, float(np.log(ratio)), uneven, speckle)


def blade_places(
    cell: str, blade: MultiPolygon, taper: tuple[float, float, float]
) -> Iterator[MarkedPlace]:
    """Places 1 mm apart along a blade: past its cool first rows, and before its tip.

    `taper` is the width of the wide end and of the tip, and the length, mm.
    """
    wide, tip, length = taper
    left, top, right, _ = blade.bounds
    for at in np.arange(_FIRST + _PACE / 2, length - _LAST - _PACE / 2 + 1e-9, _PACE).tolist():
        strip = box(left, top + at - _HALF, right, top + at + _HALF)
        area = as_area(shapely.intersection(blade, strip))
        yield MarkedPlace(area, cell, round(at, 3), round(wide + (tip - wide) * at / length, 3))


_PACE, _HALF = 1.0, 0.7
"""mm from one place of a blade to the next, and half the height of each, its inset included."""

_FIRST, _LAST = 1.5, 0.6
"""mm from the wide end and from the tip of a blade that tell nothing of its rows."""


def tone_of(ln_ratio: float, ground: float) -> float:
    """ΔL* of a ratio to the ground, whose luminance is given."""
    return float(lightness(ground * np.exp(ln_ratio)) - lightness(ground))


def _core(inside: Booleans, inset: float) -> Booleans:
    """Pixels of a place at some distance from its edge; of a narrow one its middle."""
    cv2 = opencv()
    away = cv2.distanceTransform(np.pad(inside, 1).astype(np.uint8), cv2.DIST_L2, 5)[1:-1, 1:-1]
    return np.asarray(away > min(inset, 0.6 * float(away.max())))


def _near(inside: Booleans, reach: float) -> Booleans:
    cv2 = opencv()
    away = cv2.distanceTransform((~inside).astype(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(away <= reach)


def _trimmed_mean(values: Floats32) -> float:
    ordered = np.sort(values)
    few = int(_TRIMMED * len(ordered))
    return float(ordered[few : len(ordered) - few].mean(dtype=np.float64))


def _blocks(ratio: Floats32, core: Booleans, side: int) -> Iterator[float]:
    for top in range(0, core.shape[0] - side + 1, side):
        for left in range(0, core.shape[1] - side + 1, side):
            here = slice(top, top + side), slice(left, left + side)
            if core[here].all():
                yield float(ratio[here].mean())
