"""Return times: from the start of each row to the start of the next one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import Refusal
from preprocess.marking.job.rows import RowValues
from preprocess.marking.job.timed_step import timed_step
from preprocess.marking.machine.motion import motion_of

if TYPE_CHECKING:
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.machine.motion import Motion
    from preprocess.model.bench.machine import Machine


def return_times(group: RasterGroup, machine: Machine, min_rows: int = 0) -> RowValues:
    """Time in s from the start of every lit row to the start of the next one.

    The last row of a stretch takes that of the row before it; a row without a neighbour is never
    returned to (inf). A row narrower than `min_rows` pitches counts as one of that width: pointed
    ends would else reach to 0 where a machine turns around in no time.

    Raises:
        Refusal: the speed of the rows is not known.
    """
    expect_speed(group)
    motion, _ = motion_of(machine)
    found = timed_step(group, motion)
    if found is None:
        return RowValues(np.empty(0, np.int64), np.empty(0))
    returns = np.where(np.isnan(found.returns), np.inf, found.returns)
    return RowValues(found.spans.row, np.maximum(returns, _least(group, motion, min_rows)))


def expect_speed(group: RasterGroup) -> None:
    """Refuse rows without a speed: no default could stand for it."""
    if group.settings.speed is None:
        raise Refusal(
            f"layer {group.output.layer!r} has no speed, so its return times cannot be computed",
            "add it to the recipe: settings: {engrave: {speed: 900 mm/s}}",
        )


def _least(group: RasterGroup, motion: Motion, min_rows: int) -> float:
    speed, width = group.settings.speed or 0.0, min_rows * group.pitch
    if not width:
        return 0.0
    dark = motion.between_rows(speed, np.array([width]), group.settings.direction)
    return width / speed + float(dark[0])
