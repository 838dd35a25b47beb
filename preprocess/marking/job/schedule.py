"""Schedule of the beam: the start of every row and run, and the totals of every layer.

The clock starts at the first point of light and stops at the last. Rows without light are skipped
in the time of one turnaround. Two-way rows alternate from lit row to lit row and begin, in each
group and each repeat, in the direction of rising u. A repeated layer is done as a whole, then
again. Dark moves are those of `motion`; blank gaps inside a row are crossed at the row's speed, or
at that of flight where the machine jumps them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.job.dense_rows import dense_rounds
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.job.rows import runs_of_groups
from preprocess.marking.job.timed_step import TimedStep, timed_step
from preprocess.marking.job.totals import LayerTime, layer_time
from preprocess.marking.machine.beam import Beam, beam_of
from preprocess.marking.machine.motion import Motion, motion_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.geometry.base.sweep import Runs
    from preprocess.marking.job.plan import LineWork, Plan
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.machine import Machine

_MINUTES_PER_LAYER = 1.0
"""Assumed time to set up one colour layer in the laser software, minutes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One time through one step of the plan, from `begins` to `ends` (s)."""

    step: int
    repeat: int
    begins: float
    ends: float
    timed: TimedStep


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Visits in time order and totals by layer, in seconds.

    `untimed` are output layers without a speed; `assumed` says what the machine file left open.
    `beam` is how the light begins, and follows the power that is set.
    """

    visits: tuple[Visit, ...]
    layers: tuple[LayerTime, ...]
    untimed: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    beam: Beam = Beam()

    @property
    def total(self) -> float:
        """From the first light to the last, s."""
        return self.visits[-1].ends if self.visits else 0.0

    @property
    def setting_up(self) -> float:
        """Assumed time to type in all layers, s, also those without a speed."""
        every = {*(layer.output.id for layer in self.layers), *self.untimed}
        return 60.0 * _MINUTES_PER_LAYER * len(every)


def schedule_of(plan: Plan, machine: Machine) -> Schedule:
    """Time every row of the plan; a step without a speed is left out and named."""
    motion, assumed = motion_of(machine)
    timed_steps: dict[int, TimedStep] = {}
    untimed = []
    runs = _runs(plan)
    for index, step in enumerate(plan.steps):
        if step.settings.speed is None:
            untimed.append(step.output.id)
            continue
        found = timed_step(step, motion, runs.get(index))
        if found is not None:
            timed_steps[index] = found
    timed_steps |= _with_rows(plan, timed_steps)
    visits = tuple(_visits(plan, timed_steps, motion))
    return Schedule(
        visits=visits,
        layers=tuple(_layers(plan, visits)),
        untimed=tuple(dict.fromkeys(untimed)),
        assumed=assumed,
        beam=beam_of(machine),
    )


def _with_rows(plan: Plan, timed_steps: dict[int, TimedStep]) -> dict[int, TimedStep]:
    """Steps of lines, with the rounds that lie dense together."""
    rounds = {index: timed.rounds for index, timed in timed_steps.items() if timed.rounds}
    found = dense_rounds(rounds, {index: plan.steps[index].output.layer for index in rounds})
    return {index: timed_steps[index].with_rounds(some) for index, some in found.items()}


def _runs(plan: Plan) -> dict[int, Runs]:
    """Runs of every step that is swept at a known speed."""
    swept = {
        index: step
        for index, step in enumerate(plan.steps)
        if isinstance(step, RasterGroup) and step.settings.speed is not None
    }
    return dict(zip(swept, runs_of_groups(list(swept.values())), strict=True))


def _visits(plan: Plan, timed_steps: dict[int, TimedStep], motion: Motion) -> Iterator[Visit]:
    clock, before, pause = 0.0, None, 0.0
    for index, repeat in _order(plan):
        step = plan.steps[index]
        if repeat == 0:
            pause += step.pause
        now = timed_steps.get(index)
        if now is None:
            continue
        if before is not None:
            clock += pause + _hop(before, now, motion)
        yield Visit(step=index, repeat=repeat, begins=clock, ends=clock + now.lasts, timed=now)
        clock, before, pause = clock + now.lasts, now, 0.0


def _order(plan: Plan) -> Iterator[tuple[int, int]]:
    """Index and repeat of every step in marking order: a layer is repeated as a whole."""

    def output(index: int) -> str:
        return plan.steps[index].output.id

    for _, together in groupby(range(len(plan.steps)), key=output):
        indices = list(together)
        for repeat in range(plan.steps[indices[0]].repeats):
            yield from ((index, repeat) for index in indices)


def _hop(before: TimedStep, now: TimedStep, motion: Motion) -> float:
    (x0, y0), (x1, y1) = before.left_at, now.entered_at
    return motion.hop(float(np.hypot(x1 - x0, y1 - y0)), before.speed, now.speed)


def _layers(plan: Plan, visits: tuple[Visit, ...]) -> Iterator[LayerTime]:
    def output(visit: Visit) -> str:
        return plan.steps[visit.step].output.id

    for _, together in groupby(visits, key=output):
        mine = list(together)
        step: RasterGroup | LineWork = plan.steps[mine[0].step]
        spans = [(v.begins, v.ends) for v in mine]
        yield layer_time(step.output, spans, [v.timed for v in mine])


def settings_of_rows(plan: Plan, schedule: Schedule) -> dict[str, Settings]:
    """Settings by output layer of all that is swept, and of own rows with the pitch they have."""
    found = {}
    for visit in schedule.visits:
        step, rounds = plan.steps[visit.step], visit.timed.rounds
        if rounds:
            found[step.output.id] = replace(step.settings, pitch=rounds[0].pitch * rounds[0].share)
        elif step.settings.pitch is not None and visit.timed.runs is not None:
            found[step.output.id] = step.settings
    return found
