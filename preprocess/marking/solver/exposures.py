"""Exposures of one body: lit runs with their energy and the time of the beam's visit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.base.sweep import Runs, sweep_area
from preprocess.marking.job.plan import LineWork
from preprocess.marking.job.rows import runs_on_rows
from preprocess.marking.solver.cell_light import pieces_of_light

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.job.grey_rows import GreyRows
    from preprocess.marking.job.plan import Plan, RasterGroup
    from preprocess.marking.job.schedule import Schedule, Visit
    from preprocess.marking.job.timed_step import TimedStep
    from preprocess.marking.machine.beam import Beam


_SHORTEST = 1e-9
"""mm; shorter pieces of runs are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """One visit's rows on one body, in the row frame of `angle`; mm, s, J.

    `energy` is absorbed J per mm of run. `y` is the v of each lit row and `at` when it begins; the
    runs (row, start, end) are entered at `entered`, at the end that the row's direction says.
    `round` counts the rounds of one visit's own rows, of which each stands for a `share` of pitch.
    `light` is the share of the energy that each run gets (None: all of it), more than 1 where it is
    more; where runs were cut for it, `drawn` is the exposure with its runs in one piece.
    """

    step: int
    repeat: int
    angle: float
    pitch: float
    speed: float
    energy: float
    y: Floats
    at: Floats
    forward: Booleans
    row: Integers
    start: Floats
    end: Floats
    entered: Floats
    round: int = 0
    share: float = 1.0
    light: Floats | None = None
    drawn: Exposure | None = None

    @property
    def energies(self) -> Floats:
        """Absorbed energy of each run, J/mm."""
        return self.energy * self.relative

    @property
    def relative(self) -> Floats:
        """Energy of each run over `energy`."""
        return np.ones(len(self.row)) if self.light is None else self.light

    @property
    def whole(self) -> Exposure:
        """The same with its runs in one piece."""
        return self.drawn or self

    @property
    def begins(self) -> float:
        """Time of the first row, s."""
        return float(self.at[0])

    @property
    def ends(self) -> float:
        """Time at which the last run is left, s."""
        return float((self.entered + (self.end - self.start) / self.speed).max())


def lit_length(exposure: Exposure) -> float:
    """Lit length of all rows, mm."""
    return float((exposure.whole.end - exposure.whole.start).sum())


def exposures_of(
    plan: Plan, schedule: Schedule, watts: float, body: MultiPolygon | None
) -> tuple[Exposure, ...]:
    """All rows that heat a body, in time order; light beside it heats nothing.

    Args:
        plan: the steps.
        schedule: their times.
        watts: absorbed power at 100 %.
        body: silhouette of the part on the page; None takes every row as on one body.

    A layer without a power is taken at 100 %. Traced lines count where they make up dense rows;
    the heat of other lines is negligible beside a raster.
    """
    return tuple(_exposures(plan, schedule, watts, body))


def _exposures(
    plan: Plan, schedule: Schedule, watts: float, body: MultiPolygon | None
) -> Iterator[Exposure]:
    on_body: dict[int, tuple[Runs, Integers]] = {}
    for visit in schedule.visits:
        group, timed = plan.steps[visit.step], visit.timed
        if isinstance(group, LineWork):
            yield from _traced(group, visit, (watts, schedule.beam), body)
            continue
        if timed.runs is None:
            continue
        if visit.step not in on_body:
            on_body[visit.step] = _on(group, timed.runs, body)
        runs, origin = on_body[visit.step]
        if len(runs):
            power = watts * (_light(group, schedule.beam) if group.grey is None else 1.0)
            what = (power, visit.repeat, visit.step)
            yield _exposure(group, timed, (runs, origin), visit.begins, what, schedule.beam)


def _light(step: LineWork | RasterGroup, beam: Beam) -> float:
    """Share of the full light in a step; that of full power where no power is set."""
    power = step.settings.power
    return beam.light(power) if power else 1.0


def _traced(
    work: LineWork, visit: Visit, source: tuple[float, Beam], body: MultiPolygon | None
) -> Iterator[Exposure]:
    """Rows that were drawn as lines, round by round."""
    watts, beam = source
    for number, one in enumerate(visit.timed.rounds):
        runs, origin = one.runs, np.arange(len(one.runs))
        if body is not None:
            runs, origin = overlapping_runs(
                runs, sweep_area(RowFrame(one.angle).to_rows(body), one.y)
            )
        if not len(runs):
            continue
        rows, row = np.unique(runs.row, return_inverse=True)
        forward = one.forward[rows]
        late = np.where(
            forward[row], runs.start - one.runs.start[origin], one.runs.end[origin] - runs.end
        )
        speed = visit.timed.speed
        exposure = Exposure(
            step=visit.step,
            repeat=visit.repeat,
            angle=one.angle,
            pitch=one.pitch,
            speed=speed,
            energy=watts * _light(work, beam) / speed,
            y=one.y[rows],
            at=visit.begins + one.at[rows],
            forward=forward,
            row=row,
            start=runs.start,
            end=runs.end,
            entered=visit.begins + one.entered[origin] + late / speed,
            round=number,
            share=one.share,
        )
        yield with_rising_light(exposure, late, beam)


def _exposure(
    group: RasterGroup,
    timed: TimedStep,
    clipped: tuple[Runs, Integers],
    begins: float,
    what: tuple[float, int, int],
    beam: Beam,
) -> Exposure:
    (runs, origin), (power, repeat, step) = clipped, what
    whole = timed.runs
    assert whole is not None  # noqa: S101 - the caller has looked
    rows, row = np.unique(runs.row, return_inverse=True)
    lit = np.searchsorted(timed.spans.row, rows)
    forward = timed.forward[lit]
    late = np.where(forward[row], runs.start - whole.start[origin], whole.end[origin] - runs.end)
    exposure = Exposure(
        step=step,
        repeat=repeat,
        angle=group.angle,
        pitch=group.pitch,
        speed=timed.speed,
        energy=power / timed.speed,
        y=timed.spans.v[lit],
        at=begins + timed.rows_at[lit],
        forward=forward,
        row=row,
        start=runs.start,
        end=runs.end,
        entered=begins + timed.runs_at[origin] + late / timed.speed,
    )
    if group.grey is not None:
        exposure, late = with_cell_light(exposure, late, group.grey, timed.spans.row[lit], beam)
    return with_rising_light(exposure, late, beam)


def _on(group: RasterGroup, runs: Runs, body: MultiPolygon | None) -> tuple[Runs, Integers]:
    """The runs on a body, and for each of them the index of the run that it is a piece of."""
    bare = all(shape.bars is None for shape in group.shapes)
    if body is None:
        return (runs, np.arange(len(runs))) if bare else _without_bars(group, runs)
    if bare and body.covers(group.area):
        return runs, np.arange(len(runs))
    return overlapping_runs(runs, runs_on_rows(body, group))


def _without_bars(group: RasterGroup, runs: Runs) -> tuple[Runs, Integers]:
    """Runs on the body where no part is known: all but those of bars."""
    found = [runs_on_rows(shape.geometry, group) for shape in group.shapes]
    row = np.concatenate([f.row for f in found])
    order = np.argsort(row, kind="stable")
    start = np.concatenate([f.start for f in found])[order]
    end = np.concatenate([f.end for f in found])[order]
    return overlapping_runs(runs, Runs(row[order], start, end, np.zeros_like(row)))


def overlapping_runs(runs: Runs, other: Runs) -> tuple[Runs, Integers]:
    """Pieces of `runs` that lie in runs of `other`, with the index of the run each comes from."""
    n, m = len(runs), len(other)
    x = np.concatenate([runs.start, runs.end, other.start, other.end])
    row = np.concatenate([runs.row, runs.row, other.row, other.row])
    mine = np.repeat([1, -1, 0, 0], [n, n, m, m])
    theirs = np.repeat([0, 0, 1, -1], [n, n, m, m])
    order = np.lexsort((x, row))
    inside = (np.cumsum(mine[order]) > 0) & (np.cumsum(theirs[order]) > 0)
    origin = np.cumsum(mine[order] == 1) - 1
    begins = np.flatnonzero(inside[:-1])
    x, row = x[order], row[order]
    start, end = x[begins], x[begins + 1]
    keep = end > start
    begins = begins[keep]
    pieces = Runs(row[begins], start[keep], end[keep], np.zeros(len(begins), np.int64))
    return pieces, origin[begins]


def with_cell_light(
    exposure: Exposure, late: Floats, grey: GreyRows, rows: Integers, beam: Beam
) -> tuple[Exposure, Floats]:
    """An exposure of full light cut where the power of cells changes, and how late pieces begin.

    `late` is how far each run begins behind the beginning of the drawn run that it is part of, mm;
    `rows` says which row of the image each row of the exposure is.
    """
    runs = Runs(exposure.row, exposure.start, exposure.end, np.zeros_like(exposure.row))
    pieces = pieces_of_light(runs, rows, grey, beam)
    run = pieces.run
    forward = exposure.forward[exposure.row[run]]
    since = np.where(forward, pieces.start - exposure.start[run], exposure.end[run] - pieces.end)
    cut = replace(
        exposure,
        row=exposure.row[run],
        start=pieces.start,
        end=pieces.end,
        entered=exposure.entered[run] + since / exposure.speed,
        light=pieces.light,
        drawn=exposure,
    )
    return cut, late[run] + since


def with_rising_light(exposure: Exposure, late: Floats, beam: Beam) -> Exposure:
    """An exposure whose runs are cut where the light changes.

    `late` is how far each run begins behind the beginning of the drawn run that it is part of, mm.
    """
    if beam.at_once:
        return exposure
    begins, shares = beam.rise(exposure.speed)
    ends = np.append(begins[1:], np.inf)
    long = exposure.end - exposure.start
    low = np.maximum(late[:, None], begins)
    high = np.minimum((late + long)[:, None], ends)
    run, piece = np.nonzero(high - low > _SHORTEST)
    since, until = (edge[run, piece] - late[run] for edge in (low, high))
    forward = exposure.forward[exposure.row[run]]
    start = np.where(forward, exposure.start[run] + since, exposure.end[run] - until)
    end = np.where(forward, exposure.start[run] + until, exposure.end[run] - since)
    order = np.lexsort((start, exposure.row[run]))
    return replace(
        exposure,
        row=exposure.row[run][order],
        start=start[order],
        end=end[order],
        entered=(exposure.entered[run] + since / exposure.speed)[order],
        light=(shares[piece] * exposure.relative[run])[order],
        drawn=exposure.whole,
    )
