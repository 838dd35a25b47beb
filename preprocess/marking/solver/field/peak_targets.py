"""Peak targets: rows whose peaks an exposure may raise, its own and those marked before nearby.

Interleaved rounds leave rows between those of earlier rounds, which are warmed again as it passes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.lumped_sources import LumpedSources
    from preprocess.marking.solver.march import MarchConstants

_SAME = 6
"""Decimals of a mm to which rows of several exposures may be the same row."""


@dataclass(frozen=True, slots=True)
class EarlierRows:
    """Rows of an earlier exposure: its number, those of its rows, and their numbers as targets."""

    number: int
    exposure: Exposure
    rows: Integers
    place: Integers


@dataclass(frozen=True, slots=True)
class PeakTargets:
    """Rows that an exposure warms: `y` ascending in its row frame, mm.

    `own` is the number of each of its rows among them. The targets of a visit are those from
    `first` to before `end`: smoothings × visits.
    """

    y: Floats
    own: Integers
    first: Integers
    end: Integers
    earlier: tuple[EarlierRows, ...]

    @property
    def bounds(self) -> tuple[Integers, Integers]:
        """First target of each visit, and the first behind the last, at any smoothing."""
        return self.first.min(axis=0), self.end.max(axis=0)

    def lit(self, own: Booleans, earlier: Sequence[Booleans]) -> Booleans:
        """Lit cells of all targets from those of its own rows and of each earlier exposure."""
        found = np.zeros((len(self.y), own.shape[1]), bool)
        found[self.own] = own
        for some, lit in zip(self.earlier, earlier, strict=True):
            np.logical_or.at(found, some.place, lit[some.rows])
        return found


def peak_targets(
    exposures: Sequence[Exposure],
    records: LumpedSources,
    constants: MarchConstants,
    wanted: Iterable[int],
) -> PeakTargets:
    """Targets of the last of some exposures.

    Args:
        exposures: it, after all that came before.
        records: those before it, summed up in its frame.
        constants: constants.
        wanted: numbers of the earlier exposures whose peaks are asked for.
    """
    exposure, windows = exposures[-1], np.array(constants.windows)[:, None]
    earlier = list(_beside(exposures, records, float(windows.max()), wanted))
    y = np.concatenate([exposure.y, *(other.y[rows] for _, other, rows in earlier)])
    _, index, number = np.unique(np.round(y, _SAME), return_index=True, return_inverse=True)
    y, own = y[index], number[: len(exposure.y)]
    ends = np.cumsum([len(exposure.y), *(len(rows) for _, _, rows in earlier)])
    found = tuple(
        EarlierRows(which, other, rows, number[a:b])
        for (which, other, rows), a, b in zip(earlier, ends, ends[1:], strict=False)
    )
    before = np.zeros(len(y), bool)
    before[number[len(exposure.y) :]] = True
    first = np.searchsorted(y, exposure.y - windows)
    ahead = np.searchsorted(y, exposure.y + windows, side="right")
    last = np.maximum.accumulate(np.where(before, np.arange(len(y)), -1))[ahead - 1]
    return PeakTargets(y, own, first, np.maximum(own, last) + 1, found)


def _beside(
    exposures: Sequence[Exposure], records: LumpedSources, window: float, wanted: Iterable[int]
) -> Iterator[tuple[int, Exposure, Integers]]:
    """Earlier exposures with rows near those of the last, but for earlier repeats of these."""
    last, box = exposures[-1], records.box
    near = (box[:, 0] <= last.end.max()) & (box[:, 2] >= last.start.min())
    low, high = float(last.y[0]) - window, float(last.y[-1]) + window
    near &= (box[:, 1] <= high) & (box[:, 3] >= low)
    asked = set(wanted)
    for number in np.flatnonzero(near).tolist():
        other = exposures[number]
        again = (other.step, other.round) == (last.step, last.round)
        if number in asked and other.angle == last.angle and not again:
            rows = np.flatnonzero((other.y >= low) & (other.y <= high))
            if len(rows):
                yield number, other, rows
