"""Starts of rows: what of its light each layer loses where the beam comes late and rises."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Finding, counted, note, warn
from preprocess.marking.job.plan import LineWork
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.marking.machine.beam import Beam

_TOLD = 0.02
"""Share of a layer's light that is worth a note."""


def row_start_findings(plan: Plan, schedule: Schedule) -> Iterator[Finding]:
    """Layers that lose much of their light where rows begin, and runs that get none."""
    beam = schedule.beam
    if beam.at_once:
        return
    runs: dict[str, list[tuple[Floats, float]]] = {}
    for visit in schedule.visits:
        step, timed = plan.steps[visit.step], visit.timed
        if isinstance(step, LineWork):
            long = np.array([line.length for line in step.lines.geoms])
        elif timed.runs is not None:
            long = timed.runs.end - timed.runs.start
        else:
            continue
        runs.setdefault(step.output.id, []).append((long, timed.speed))
    for output, each in runs.items():
        yield from _of_layer(output, each, beam)


def lost_light(long: Floats, speed: float, beam: Beam) -> Floats:
    """Length in mm whose light each run loses: the delay, and half of an even rise."""
    late, rise = speed * beam.delay, speed * beam.ramp
    rising = np.clip(long - late, 0.0, rise)
    return np.minimum(long, late) + rising - (rising**2 / (2 * rise) if rise else 0.0)


def _of_layer(output: str, each: list[tuple[Floats, float]], beam: Beam) -> Iterator[Finding]:
    speed = max(speed for _, speed in each)
    lost = sum(float(lost_light(long, speed, beam).sum()) for long, speed in each)
    share = lost / (sum(float(long.sum()) for long, _ in each) or 1.0)
    if share > _TOLD:
        late, rise = (digits(1e-3 * round(1e3 * speed * s)) for s in (beam.delay, beam.ramp))
        yield note(
            "rows-begin-weak",
            f"{output} loses {100 * share:.1f} % of its light where rows and lines begin: at "
            f"{digits(speed)} mm/s it comes {late} mm late and rises over {rise} mm",
            "the prediction counts it; a slower speed or longer rows lose less",
        )
    dark = [long[long <= speed * beam.delay] for long, speed in each]
    none = np.concatenate(dark)
    if len(none):
        yield warn(
            "rows-without-light",
            f"{counted(len(none), 'row')} of {output}, up to {digits(float(none.max()), 2)} mm "
            f"long, get no light: the laser comes {digits(1e3 * beam.delay)} ms late",
            "mark slower, or thicken these places in the drawing",
        )
