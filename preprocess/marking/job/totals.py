"""Totals of a layer: time, rows, lengths, and return times of neighbouring rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.job.timed_step import TimedStep
    from preprocess.model.artwork.output import OutputLayer


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerTime:
    """One output layer, repeats included: times in s, lengths in mm.

    It lasts from its first light to its last; pauses and moves between layers belong to none.
    `marked` is the length under light, `swept` the width of all rows with the blank gaps in them.
    The return times (None where no two rows are neighbours) are from start to start.
    """

    output: OutputLayer
    begins: float
    ends: float
    rows: int
    marked: float
    swept: float
    shortest_return: float | None = None
    median_return: float | None = None
    longest_return: float | None = None

    @property
    def lasts(self) -> float:
        """Seconds from the layer's first light to its last."""
        return self.ends - self.begins


def layer_time(
    output: OutputLayer, spans: Sequence[tuple[float, float]], timed_steps: Sequence[TimedStep]
) -> LayerTime:
    """Sum up the timed steps of one layer; `spans` are their begin and end (s)."""
    returns = np.concatenate([timed.returns for timed in timed_steps])
    returns = returns[np.isfinite(returns)]
    some = len(returns) > 0
    return LayerTime(
        output=output,
        begins=spans[0][0],
        ends=spans[-1][1],
        rows=sum(len(timed.spans) for timed in timed_steps),
        marked=sum(timed.marked for timed in timed_steps),
        swept=sum(float(timed.spans.span.sum()) for timed in timed_steps),
        shortest_return=float(returns.min()) if some else None,
        median_return=float(np.median(returns)) if some else None,
        longest_return=float(returns.max()) if some else None,
    )
