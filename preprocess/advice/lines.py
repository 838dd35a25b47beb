"""Lines that an interleaved job should meet, and what one that does not falls short of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.marking.evenness.sentence import signed_percent
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.marking.evenness.objective import Objective

_FINE_PITCH = 0.075
"""mm; with rows nearer than this there are more rounds than colours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EvenLine:
    """Limits of hottest and coldest place over the median and of the seam step, as a share."""

    hot: float
    cold: float
    seam: float
    worst_hot: float
    worst_cold: float

    def is_met(self, found: Objective) -> bool:
        """Test whether a job is as even, at the likely spread and at worst."""
        return not any(self.missed(found))

    def shortfall(self, found: Objective) -> float:
        """By how much the figure that misses it most does, over its limit; 0 where none does."""
        likely, worst = found.likely, found.worst
        return max(
            0.0,
            (likely.hot - self.hot) / (self.hot - 1),
            (self.cold - likely.cold) / (1 - self.cold),
            (likely.seam - self.seam) / self.seam,
            (worst.hot - self.worst_hot) / (self.worst_hot - 1),
            (self.worst_cold - worst.cold) / (1 - self.worst_cold),
        )

    def missed(self, found: Objective) -> Iterator[str]:
        """Figures that do not keep to it, in words."""
        likely, worst = found.likely, found.worst
        if likely.hot > self.hot:
            yield f"worst place {_against(likely.hot, self.hot)}"
        if likely.cold < self.cold:
            yield f"coldest {_against(likely.cold, self.cold)}"
        if likely.seam > self.seam:
            yield f"seams {100 * likely.seam:.1f} % instead of {digits(100 * self.seam)} %"
        if worst.hot > self.worst_hot:
            yield f"worst place at worst {_against(worst.hot, self.worst_hot)}"
        if worst.cold < self.worst_cold:
            yield f"coldest at worst {_against(worst.cold, self.worst_cold)}"


def _against(here: float, limit: float) -> str:
    return f"{signed_percent(here, 1)} instead of {signed_percent(limit, 1)}"


MANY_COLOURS = EvenLine(hot=1.035, cold=0.945, seam=0.03, worst_hot=1.10, worst_cold=0.89)
"""A colour to each round: as even as rounds make any drawing that was tried."""

_MANY_FINE = EvenLine(hot=1.05, cold=0.93, seam=0.05, worst_hot=1.12, worst_cold=0.86)

TWO_COLOURS = EvenLine(hot=1.05, cold=0.95, seam=0.045, worst_hot=1.10, worst_cold=0.86)
"""Two colours."""


GREYS = EvenLine(hot=1.02, cold=0.985, seam=0.015, worst_hot=1.06, worst_cold=0.92)
"""Images of greys, four or more."""


def line_of(pitch: float) -> EvenLine:
    """The line of a colour to each round, for rows so far apart, mm."""
    return _MANY_FINE if pitch < _FINE_PITCH else MANY_COLOURS


def meets_a_line(found: Objective, pitch: float) -> bool:
    """Test whether a job is as even as rounds should make it, in many colours or in two."""
    return line_of(pitch).is_met(found) or TWO_COLOURS.is_met(found)


def shortfall(found: Objective, pitch: float) -> int:
    """How far a job is from the line that it is nearest to, in whole limits: less is not seen."""
    return round(min(line.shortfall(found) for line in (line_of(pitch), TWO_COLOURS)))
