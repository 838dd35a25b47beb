"""Figures of a way in the order in which they count, and the Pareto front of several ways."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.marking.heat.window_shares import TOLERATED_SHARE

if TYPE_CHECKING:
    from collections.abc import Sequence

_LIKE = 0.03
"""Times that differ by less than this share count as equal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFigures:
    """One way in numbers.

    `too_weak` and `too_heavy` are shares of the lit area outside the window; `variation` is
    standard deviation over mean of the heat index, `rows` the largest over the median of row
    medians. `margin` says how far the power may be off either way, as a share; None where too much
    lies outside as it is. `time` is in s, `layers` are colour layers to set up by hand.
    """

    too_weak: float
    too_heavy: float
    median: float
    variation: float
    rows: float | None
    margin: float | None
    time: float
    layers: int

    @property
    def outside(self) -> float:
        """Share of the area outside the window."""
        return self.too_weak + self.too_heavy

    @property
    def key(self) -> tuple[float, float, float, int]:
        """For comparing: outside first, then evenness, time, layers.

        Area and variation are rounded to one per cent: less than that means nothing.
        """
        return (
            0.0 if self.outside <= TOLERATED_SHARE else round(self.outside, 2),
            round(self.variation, 2),
            round(math.log(self.time or 1.0) / _LIKE) * _LIKE,
            self.layers,
        )


def is_dominated(one: WayFigures, others: Sequence[WayFigures]) -> bool:
    """Test whether another is at least as good in every figure and better in one."""
    return any(
        other.key != one.key and all(a <= b for a, b in zip(other.key, one.key, strict=True))
        for other in others
    )


def pareto_front(figures: Sequence[WayFigures]) -> list[int]:
    """Indices of those that no other dominates, best first."""
    unbeaten = [n for n, one in enumerate(figures) if not is_dominated(one, figures)]
    return sorted(unbeaten, key=lambda n: (figures[n].key, n))
