"""Losses: what a fit of the tones loses without each of its causes, rms ΔL*."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.causes.found import LINES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class CauseFit:
    """Tones as a sum of a level and of columns by cause; `shown` is how much of lines is seen."""

    tone: Floats
    level: Floats
    columns: Mapping[str, Floats]
    shown: float

    @property
    def losses(self) -> dict[str, float]:
        """How much worse the fit is without each cause, rms ΔL*; of lines, in the plastic."""
        least = self.rest
        found = {}
        for name in self.columns:
            others = [held for key, held in self.columns.items() if key != name]
            gone = self.tone - fitted([self.level, *others], self.tone)
            more = float(gone @ gone) - float(least @ least)
            seen = self.shown if name == LINES else 1.0
            found[name] = float(np.sqrt(max(more, 0.0) / len(gone))) / seen
        return found

    @property
    def rest(self) -> Floats:
        """What no cause explains, at each place, ΔL*."""
        return self.tone - fitted([self.level, *self.columns.values()], self.tone)

    def tone_of(self, name: str) -> Floats:
        """The part of the tones that a cause explains, about its median; 0 where it is none."""
        if name not in self.columns:
            return np.zeros(len(self.tone))
        own = self.columns[name]
        others = [held for key, held in self.columns.items() if key != name]
        whole = np.column_stack([own, self.level, *others])
        amounts = np.linalg.lstsq(whole, self.tone, rcond=None)[0]
        held = own @ amounts[: own.shape[1]]
        return np.asarray(held - np.median(held))


def fitted(columns: Sequence[Floats], tone: Floats) -> Floats:
    """The tones as far as columns explain them by least squares."""
    whole = np.column_stack(columns)
    return np.asarray(whole @ np.linalg.lstsq(whole, tone, rcond=None)[0])
