"""Sets of rows or lines that the beam goes over in one go; repeats go over the same ones again."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.job.plan import LineWork
from preprocess.marking.solver.exposures import exposures_of
from preprocess.playback.block.pieces import DrawnRuns, Pieces, pieces_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Integers, Points
    from preprocess.marking.job.plan import Plan, RasterGroup
    from preprocess.marking.job.schedule import Schedule, Visit
    from preprocess.marking.job.traced_rows import Round
    from preprocess.marking.solver.exposures import Exposure

    _Warm = Mapping[tuple[int, int], Sequence[tuple[int, Exposure]]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RowSet:
    """Rows in the frame of `angle`; s from the first light of the set, mm.

    `after` is when it begins, counted from its step. `energy` is J per mm of a piece in full light,
    0 where nothing warms a part. `round` counts the rounds of own rows, and is 0 for swept ones.
    """

    step: int
    round: int
    after: float
    lasts: float
    angle: float
    pitch: float
    energy: float
    v: Floats
    at: Floats
    forward: Booleans
    pieces: Pieces


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineSet:
    """Lines that the beam traces, and when it enters each; s from the first light of the set."""

    step: int
    after: float
    lasts: float
    lines: tuple[Points, ...]
    entered: Floats


@dataclass(frozen=True, slots=True)
class BeamVisit:
    """One time over a set: its number, which repeat of its layer it is, when it begins (s)."""

    set: int
    repeat: int
    begins: float


def beam_sets(
    plan: Plan, schedule: Schedule, watts: float, bodies: Sequence[MultiPolygon | None]
) -> tuple[tuple[RowSet | LineSet, ...], tuple[BeamVisit, ...]]:
    """All that the beam goes over, and the visits to it in time order.

    Args:
        plan: the steps.
        schedule: their times.
        watts: absorbed power at 100 %.
        bodies: parts, each of which is warmed by what falls on it; None takes all for one.
    """
    warm = _warm(plan, schedule, watts, bodies)
    sets: list[RowSet | LineSet] = []
    numbers: dict[int, list[int]] = {}
    visits = []
    for visit in schedule.visits:
        if visit.step not in numbers:
            found = list(_sets_of(plan.steps[visit.step], visit, warm))
            numbers[visit.step] = list(range(len(sets), len(sets) + len(found)))
            sets.extend(found)
        visits += [
            BeamVisit(number, visit.repeat, visit.begins + sets[number].after)
            for number in numbers[visit.step]
        ]
    return tuple(sets), tuple(visits)


def _warm(
    plan: Plan, schedule: Schedule, watts: float, bodies: Sequence[MultiPolygon | None]
) -> _Warm:
    """By step and round the parts (from 1 on) and what warms them, the first time over."""
    once = replace(schedule, visits=tuple(one for one in schedule.visits if one.repeat == 0))
    found = defaultdict(list)
    for part, body in enumerate(bodies, 1):
        for exposure in exposures_of(plan, once, watts, body):
            found[exposure.step, exposure.round].append((part, exposure))
    return found


def _sets_of(step: RasterGroup | LineWork, visit: Visit, warm: _Warm) -> Iterator[RowSet | LineSet]:
    if isinstance(step, LineWork):
        yield from _traced_sets(step, visit, warm)
    elif visit.timed.runs is not None:
        yield _swept_set(step, visit, warm.get((visit.step, 0), ()))


def _swept_set(group: RasterGroup, visit: Visit, warm: Sequence[tuple[int, Exposure]]) -> RowSet:
    timed = visit.timed
    assert timed.runs is not None  # noqa: S101 - the caller has looked
    drawn = DrawnRuns(
        row=np.searchsorted(timed.spans.row, timed.runs.row),
        start=timed.runs.start,
        end=timed.runs.end,
        entered=timed.runs_at,
        forward=timed.forward,
        speed=timed.speed,
    )
    return RowSet(
        step=visit.step,
        round=0,
        after=0.0,
        lasts=timed.lasts,
        angle=group.angle,
        pitch=group.pitch,
        energy=warm[0][1].energy if warm else 0.0,
        v=timed.spans.v,
        at=timed.rows_at,
        forward=timed.forward,
        pieces=pieces_of(drawn, _on_rows(timed.spans.v, warm)),
    )


def _on_rows(
    v: Floats, warm: Sequence[tuple[int, Exposure]]
) -> list[tuple[int, Integers, Exposure]]:
    return [(part, np.searchsorted(v, one.y), one) for part, one in warm]


def _traced_sets(work: LineWork, visit: Visit, warm: _Warm) -> Iterator[RowSet | LineSet]:
    """Rounds of own rows, and the other lines between them, in the order of the beam."""
    timed = visit.timed
    lines = [np.asarray(line.coords) for line in work.lines.geoms if line.length > 0]
    round_of = np.full(len(lines), -1)
    for number, one in enumerate(timed.rounds):
        round_of[np.isin(timed.runs_at, one.entered)] = number
    for number, some in groupby(range(len(lines)), key=round_of.__getitem__):
        which = list(some)
        after = float(timed.runs_at[which[0]])
        last = lines[which[-1]]
        way = float(np.hypot(*np.diff(last, axis=0).T[:2]).sum())
        ends = float(timed.runs_at[which[-1]]) + way / timed.speed
        if number < 0:
            yield LineSet(
                step=visit.step,
                after=after,
                lasts=ends - after,
                lines=tuple(lines[n][:, :2] for n in which),
                entered=timed.runs_at[which] - after,
            )
        else:
            one, what = timed.rounds[number], warm.get((visit.step, int(number)), ())
            yield _round_set(one, (int(number), after, ends - after), visit, what)


def _round_set(
    one: Round,
    when: tuple[int, float, float],
    visit: Visit,
    warm: Sequence[tuple[int, Exposure]],
) -> RowSet:
    number, after, lasts = when
    drawn = DrawnRuns(
        row=one.runs.row,
        start=one.runs.start,
        end=one.runs.end,
        entered=one.entered - after,
        forward=one.forward,
        speed=visit.timed.speed,
    )
    return RowSet(
        step=visit.step,
        round=number,
        after=after,
        lasts=lasts,
        angle=one.angle,
        pitch=one.pitch * one.share,
        energy=warm[0][1].energy if warm else 0.0,
        v=one.y,
        at=one.at - after,
        forward=one.forward,
        pieces=pieces_of(drawn, _on_rows(one.y, warm)),
    )


def coarser_set(one: RowSet | LineSet, within: float) -> RowSet | LineSet:
    """A set whose pieces of one part that begin in the same `within` mm of a row are one piece.

    It gets the light of all of them, so that no energy is lost; what was dark between is lit.
    """
    if isinstance(one, LineSet) or not within:
        return one
    pieces = one.pieces
    bin_of = np.floor((pieces.start - pieces.start.min()) / within)
    key = np.stack([pieces.row, pieces.part, bin_of])
    new = np.append(True, (key[:, 1:] != key[:, :-1]).any(axis=0))
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(pieces)) - 1
    start, end = pieces.start[first], pieces.end[last]
    lit: Floats = np.add.reduceat(pieces.light * (pieces.end - pieces.start), first)
    forward = one.forward[pieces.row[first]]
    merged = Pieces(
        row=pieces.row[first],
        start=start,
        end=end,
        entered=np.where(forward, pieces.entered[first], pieces.entered[last]),
        part=pieces.part[first],
        light=lit / (end - start),
    )
    return replace(one, pieces=merged)
