"""Clearance of bars from every silhouette and keep-off area: measured, not assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.affinity import scale

from preprocess.errors import Refusal
from preprocess.passes.equalize_width.lay_out import all_bars
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Geometries
    from preprocess.passes.equalize_width.lay_out import ClearTest, GroupBars
    from preprocess.passes.equalize_width.telecentric_error import TelecentricError

_CLOSE = 1e-3
"""A keep-off area nearer than this, mm, counts as struck."""

_TOUCHING = 1e-7
"""mm of rounding allowed for a bar that stands exactly at its clearance."""


def expect_clear(
    barred: Sequence[GroupBars],
    parts: Sequence[MultiPolygon],
    clearance: float,
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> None:
    """Expect bars, and their light on the bed, to keep clear of all parts.

    Raises:
        Refusal: they do not; it gives the distance.
    """
    bars = all_bars(barred)
    least = _least(bars, parts)
    if slant is not None:
        landed = _landed(bars, axis, slant)
        least = min(least, _least(landed, parts) - slant.half_spot)
    if least >= clearance - 1e-9:
        return
    widest = max(entry.span for entry in barred)
    raise Refusal(
        f"with a span of {widest:.2f} mm bars would come within {max(least, 0):.2f} mm of the "
        f"part; the clearance is {digits(clearance)} mm",
        "leave out span, so that bars clear the whole part, or give equalize-width narrower_than, "
        "so that only rows beside narrow places of the part get bars",
    )


def expect_kept_off(
    barred: Sequence[GroupBars],
    keep_off: Sequence[MultiPolygon],
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> None:
    """Expect no bar, and no light of it on the bed, to strike a keep-off area.

    Raises:
        Refusal: one does; it gives the place.
    """
    bars = all_bars(barred)
    for area in keep_off:
        near = shapely.dwithin(bars, area, _CLOSE).any()
        if slant is not None:
            reach = _CLOSE + slant.half_spot
            near |= shapely.dwithin(_landed(bars, axis, slant), area, reach).any()
        if near:
            x, y = area.centroid.x, area.centroid.y
            raise Refusal(
                f"a bar would strike the keep-off area at about ({x:.2f}, {y:.2f}) mm",
                "move the clip, or change clearance, span or scan angle so that bars miss it",
            )


def clearance_test(
    parts: Sequence[MultiPolygon],
    keep_off: Sequence[MultiPolygon],
    clearance: float,
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> ClearTest:
    """Test for bars on the page that, with their light, keep clear of all parts and areas."""
    near = [(part, clearance - _TOUCHING) for part in parts] + [(area, _CLOSE) for area in keep_off]
    for area, _ in near:
        shapely.prepare(area)

    def clear(bars: Geometries) -> Booleans:
        struck = np.zeros(len(bars), np.bool_)
        for area, away in near:
            struck |= shapely.dwithin(bars, area, away)
            if slant is not None:
                landed, spot = _landed(bars, axis, slant), slant.half_spot
                struck |= shapely.dwithin(landed, area, away + spot)
        return ~struck

    return clear


def _least(bars: Geometries, parts: Sequence[MultiPolygon]) -> float:
    return min(float(shapely.distance(bars, part).min()) for part in parts)


def _landed(bars: Geometries, axis: tuple[float, float], slant: TelecentricError) -> Geometries:
    """Light of bars on the bed: spread about the optical axis."""
    factor = 1 + slant.shift(1.0)
    return np.array([scale(bar, factor, factor, origin=axis) for bar in bars], dtype=object)
