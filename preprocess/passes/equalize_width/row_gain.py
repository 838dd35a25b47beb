"""Gain and cost of bars: return times of the rows before and after, and seconds added."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Finding, note
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.job.timed_step import timed_step
from preprocess.marking.machine.motion import motion_of
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.marking.job.timed_step import TimedStep
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.equalize_width.lay_out import GroupBars

_LEAST = 1e-6
"""s; smaller gains of return time do not count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowGain:
    """Rows of one raster group with and without their bars.

    `before` and `after` are the shortest return times in s, None where no two rows are neighbours.
    `gained` of the `rows` with artwork return later than before. `added` are the seconds that the
    bars take, repeats included.
    """

    before: float | None
    after: float | None
    gained: int
    rows: int
    added: float


def row_gain(entry: GroupBars, machine: Machine) -> RowGain | None:
    """Time the rows of a group twice; None without a speed, without bars or without rows."""
    group, (motion, _) = entry.group, motion_of(machine)
    if group.settings.speed is None or entry.bars.is_empty:
        return None
    barred = replace(group, area=union([group.area, entry.bars]))
    before, after = timed_step(group, motion), timed_step(barred, motion)
    if before is None or after is None:
        return None
    return _gain(before, after, group.repeats)


def _gain(before: TimedStep, after: TimedStep, repeats: int) -> RowGain:
    now = dict(zip(after.spans.row.tolist(), after.returns.tolist(), strict=True))
    then = zip(before.spans.row.tolist(), before.returns.tolist(), strict=True)
    return RowGain(
        before=_shortest(before),
        after=_shortest(after),
        gained=sum(now.get(row, value) - value > _LEAST for row, value in then),
        rows=len(before.spans),
        added=repeats * (after.lasts - before.lasts),
    )


def _shortest(once: TimedStep) -> float | None:
    finite = once.returns[np.isfinite(once.returns)]
    return float(finite.min()) if len(finite) else None


def row_gain_findings(barred: Sequence[GroupBars], machine: Machine) -> Iterator[Finding]:
    """Gain of each raster group's rows; a note without figures if its speed is missing."""
    assumed = motion_of(machine)[1]
    known = f" (assumed: {', '.join(assumed)})" if assumed else ""
    for entry in barred:
        name = entry.group.output.id
        if entry.group.settings.speed is None:
            message = f"return times of the rows of {name} are unknown: the speed is missing"
            yield note("return-times-unknown", message, "add speed: to the settings of the layer")
        gain = row_gain(entry, machine)
        if gain is not None:
            yield note("rows-gain-time", f"{_sentence(name, gain)}{known}")


def _sentence(name: str, gain: RowGain) -> str:
    added = digits(gain.added, 3)
    counted = f"{gain.gained} of {gain.rows} rows gain time; the bars add {added} s"
    if gain.before is None or gain.after is None:
        return f"{name}: {counted}"
    before, after = (f"{digits(1e3 * value, 3)} ms" for value in (gain.before, gain.after))
    return f"shortest return time of {name}: {before} without bars, {after} with bars; {counted}"
