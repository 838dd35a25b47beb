"""Clearance of bars from every silhouette and keep-off area: measured, not assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.errors import Refusal
from preprocess.passes.equalize_width.lay_out import all_bars
from preprocess.units import digits, place_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Geometries
    from preprocess.passes.equalize_width.lay_out import GroupBars
    from preprocess.passes.equalize_width.telecentric_error import TelecentricError

_CLOSE = 1e-3
"""A keep-off area nearer than this, mm, counts as struck."""

_TOUCHING = 1e-7
"""mm of rounding allowed for a bar that stands exactly at its clearance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacles:
    """Parts that bars and their light clear by a distance (mm), keep-off areas, and the beam."""

    parts: Sequence[MultiPolygon]
    keep_off: Sequence[MultiPolygon]
    clearance: float
    slant: TelecentricError

    def expect_clear(self, barred: Sequence[GroupBars]) -> None:
        """Expect bars, and their light on the bed, to keep clear of all parts.

        Raises:
            Refusal: they do not; it gives the distance.
        """
        bars = all_bars(barred)
        lit = _least(self.slant.landed(bars), self.parts) - self.slant.half_spot
        least = min(_least(bars, self.parts), lit)
        if least >= self.clearance - 1e-9:
            return
        widest = max(entry.span for entry in barred)
        raise Refusal(
            f"with a span of {widest:.2f} mm bars would come within {max(least, 0):.2f} mm of the "
            f"part; the clearance is {digits(self.clearance)} mm",
            "leave out span, so that bars clear the whole part, or give equalize-width "
            "narrower_than, so that only rows beside narrow places of the part get bars",
        )

    def expect_kept_off(self, barred: Sequence[GroupBars]) -> None:
        """Expect no bar, and no light of it on the bed, to strike a keep-off area.

        Raises:
            Refusal: one does; it gives the place.
        """
        bars = all_bars(barred)
        for area in self.keep_off:
            if self._struck(bars, area, _CLOSE).any():
                place = place_text((area.centroid.x, area.centroid.y), 2)
                raise Refusal(
                    f"a bar would strike the keep-off area at about {place}",
                    "move the clip, or change clearance, span or scan angle so that bars miss it",
                )

    def clear(self, bars: Geometries) -> Booleans:
        """Test for bars on the page that, with their light, keep clear of all parts and areas."""
        near = [(part, self.clearance - _TOUCHING) for part in self.parts]
        near += [(area, _CLOSE) for area in self.keep_off]
        return ~np.any([self._struck(bars, area, away) for area, away in near], axis=0)

    def _struck(self, bars: Geometries, area: MultiPolygon, away: float) -> Booleans:
        """Mask of the bars that stand, or whose light lands, nearer to an area than `away` mm."""
        shapely.prepare(area)
        landed = shapely.dwithin(self.slant.landed(bars), area, away + self.slant.half_spot)
        return np.asarray(shapely.dwithin(bars, area, away) | landed)


def _least(bars: Geometries, parts: Sequence[MultiPolygon]) -> float:
    return min(float(shapely.distance(bars, part).min()) for part in parts)
