"""Shares of the area outside the window, at any common power factor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats
    from preprocess.model.bench.filament import Window


TOLERATED_SHARE = 0.01
"""Share of the area that may lie outside before a design is said to leave the window: the first
rows of any mark find the plastic cold."""

OFF = 0.05
"""Share by which a power is taken to be off: what a laser's output and the model leave open."""

_ALIKE = 1e-3
"""Share of the area by which two powers do not differ."""

FACTORS = np.geomspace(0.25, 4.0, 2774)
"""Factors of the power that are tried for a margin: steps of 0.1 %."""


@dataclass(frozen=True, slots=True)
class Shares:
    """Places by their index, ascending, with the share of the area up to each of them.

    The index is proportional to the power, so that one simulation tells of all common factors.
    """

    index: Floats
    upto: Floats
    window: Window

    @classmethod
    def of(cls, index: Floats, weight: Floats, window: Window) -> Self:
        """Sort places by their index; `weight` is the area that each stands for."""
        order = np.argsort(index, kind="stable")
        upto = np.concatenate([[0.0], np.cumsum(weight[order])])
        return cls(index[order], upto / upto[-1], window)

    def outside(self, factors: Floats) -> tuple[Floats, Floats]:
        """Shares of the area that are too weak and too heavy at each factor of the power."""
        weak = np.searchsorted(self.index, self.window.weak / factors, "left")
        heavy = np.searchsorted(self.index, self.window.heavy / factors, "right")
        return self.upto[weak], 1.0 - self.upto[heavy]

    def best(self, factors: Floats) -> int:
        """Choose one of ascending factors.

        Where some keep the design inside, the middle of the widest stretch of them, so that the
        power may be off as far as possible either way; else the one that leaves least outside.
        """
        outside = np.sum(self.outside(factors), axis=0)
        least = float(outside.min())
        good = outside <= max(TOLERATED_SHARE, least + 1e-9)
        return _middle(good, np.log(factors))

    def steadiest(self, factors: Floats) -> int:
        """Choose one of ascending factors where too much lies outside at any.

        The one that leaves least outside on average when the power is right and when it is off by
        `OFF` either way: the least of all often lies at the brink of too heavy.
        """
        off = [np.sum(self.outside(factors * by), axis=0) for by in (1 - OFF, 1.0, 1 + OFF)]
        risk = np.mean(off, axis=0)
        return _middle(risk <= risk.min() + _ALIKE, np.log(factors))

    def margin(self) -> float | None:
        """By which share the power may be off either way; None where too much lies outside."""
        if np.sum(self.outside(np.ones(1)), axis=0)[0] > TOLERATED_SHARE:
            return None
        bad = FACTORS[np.sum(self.outside(FACTORS), axis=0) > TOLERATED_SHARE]
        up = np.min(bad, initial=FACTORS[-1], where=bad > 1.0)
        down = np.max(bad, initial=FACTORS[0], where=bad < 1.0)
        return float(min(up - 1.0, 1.0 - down))


def _middle(good: Booleans, place: Floats) -> int:
    """The middle of the longest stretch of neighbours that are good."""
    low, high = _longest(good, place)
    middle = 0.5 * (place[low] + place[high])
    return low + int(np.argmin(np.abs(place[low : high + 1] - middle)))


def _longest(good: Booleans, place: Floats) -> tuple[int, int]:
    """First and last of the stretch of neighbours that reaches farthest; the first of equals."""
    edges = np.diff(np.concatenate([[False], good, [False]]).astype(np.int8))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    longest = int(np.argmax(place[ends] - place[begins]))
    return int(begins[longest]), int(ends[longest])
