"""Bars keep clear of every silhouette and of what is to be kept off: measured, not assumed."""

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
"""mm by which a bar that stands exactly at its clearance may seem nearer through rounding."""


def expect_clear(
    barred: Sequence[GroupBars],
    parts: Sequence[MultiPolygon],
    clearance: float,
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> None:
    """See that bars, and their light where it lands on the bed, keep clear of all parts.

    Raises:
        Refusal: they do not; it says by how much a span would have to grow.
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
        f"part, nearer than the clearance of {digits(clearance)} mm",
        "leave span out so that bars clear the whole part, or give equalize-width narrower_than so "
        "that only rows where the part is narrow get bars",
    )


def expect_kept_off(
    barred: Sequence[GroupBars],
    keep_off: Sequence[MultiPolygon],
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> None:
    """See that no bar, and no light of it on the bed, strikes what is to be kept off.

    Raises:
        Refusal: one does; it says where.
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
                f"a bar would strike the area about ({x:.2f}, {y:.2f}) mm that is to be kept off",
                "move the clip, or change clearance, span or scan angle so that bars miss it",
            )


def clearance_test(
    parts: Sequence[MultiPolygon],
    keep_off: Sequence[MultiPolygon],
    clearance: float,
    axis: tuple[float, float],
    slant: TelecentricError | None,
) -> ClearTest:
    """A test that says of bars on the page which of them, and their light, keep clear of all."""
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
    """Where the light of bars lands on the bed: spread about the optical axis."""
    factor = 1 + slant.shift(1.0)
    return np.array([scale(bar, factor, factor, origin=axis) for bar in bars], dtype=object)
