"""Ten bands of height of a part, from dark below to light above, and the mark's own among them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.geometry.relief.cover import without_cracks
from preprocess.geometry.relief.heights import height_bands

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.model.bench.relief import Relief

BANDS = 10

_LOW, _HIGH = (112, 130, 150), (248, 245, 236)
"""Slate below, paper above: ten steps of some eleven levels of grey, to be told in print."""

_FLAT = 0.01
"""mm of height difference below which a part has one band only."""


@dataclass(frozen=True, slots=True)
class HeightBand:
    """Heights from one to the next, mm; the area that lies higher than the lower; its colour."""

    low: float
    high: float
    area: MultiPolygon
    colour: str


def bands_of(relief: Relief) -> list[HeightBand]:
    """The bands of a part in its own coordinates, from below; each covers those under it."""
    lowest = float(relief.triangles[:, :, 2].min())
    count = BANDS if relief.top - lowest > _FLAT else 1
    found = height_bands(relief.triangles, count)
    heights = [height for height, _ in found] + [relief.top]
    return [
        HeightBand(low, high, without_cracks(area), _colour((n + 0.5) / count))
        for n, ((_, area), low, high) in enumerate(
            zip(found, heights[:-1], heights[1:], strict=True)
        )
    ]


def _colour(share: float) -> str:
    mixed = (round(a + (b - a) * share) for a, b in zip(_LOW, _HIGH, strict=True))
    return "#" + "".join(f"{channel:02x}" for channel in mixed)
