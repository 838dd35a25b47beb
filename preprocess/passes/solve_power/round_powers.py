"""Powers of rounds: one small step each, so that later rounds on warm plastic mark like the first.

A fixed point: each power is divided by what its rounds get too hot, over three spreads, and the
whole is kept only where the worst places become more even.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.objective import Objective, evenness_objective
from preprocess.marking.evenness.offsets import layer_offsets
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.output import output_layers
from preprocess.passes.solve_power.solver import (
    Powers,
    SolvedPowers,
    own_powers,
    settable_power,
    with_powers,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench

START = (1.05, 1.01, 0.98, 0.96)
"""Powers of four rounds to begin with, as shares; those of other numbers lie between them."""

_GAIN = 0.8
"""Exponent of a step: a power also warms its neighbours."""

_STEPS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    powers: Powers
    heat: HeatIndex
    objective: Objective | None


def solve_rounds(artwork: Artwork, bench: Bench, outputs: Sequence[OutputLayer]) -> SolvedPowers:
    """Find the power of each output layer that holds rounds.

    A graded filament's layers are brought to index 1 each; else the mean power of a layer stays.
    Powers are those that the machine can be set to.
    """
    own = own_powers(artwork, outputs)
    steps, beam = bench.machine_or_default.power, beam_of(bench.machine_or_default)

    drawn = _trial(artwork, bench, outputs, own)
    known = [drawn]

    def tried(powers: Powers) -> _Trial:
        settable = {name: settable_power(power, steps) for name, power in powers.items()}
        for trial in known:
            if trial.powers == settable:
                return trial
        known.append(_trial(artwork, bench, outputs, settable))
        return known[-1]

    powers = _at_level(own, (own, beam), drawn.heat, outputs)
    equal = tried(powers)
    trials = [equal]
    starts = zip(powers.items(), _starts(outputs), strict=True)
    powers = {name: beam.scaled(power, start) for (name, power), start in starts}
    for step in range(_STEPS + 1):
        trials.append(tried(powers))
        if step < _STEPS:
            powers = _stepped(powers, (own, beam), trials[-1], outputs)
    trials += [tried(between) for between in _between(trials)]
    best = min((t for t in trials if _gains(t, equal)), key=_rank, default=equal)
    return SolvedPowers(
        own=own,
        powers=best.powers,
        before=drawn.heat,
        widest=None,
        settled=True,
        reached=best.heat,
    )


def judged(
    artwork: Artwork,
    bench: Bench,
    outputs: Sequence[OutputLayer],
    heat: HeatIndex | None = None,
) -> tuple[HeatIndex, Objective | None]:
    """The heat of artwork, and how even some of its output layers are by themselves.

    `heat` is that of this artwork, where it is known already.
    """
    machine = bench.machine_or_default
    plan = plan_of(artwork, machine)
    schedule = schedule_of(plan, machine)
    heat = heat or heat_index_of_plan(plan, schedule, artwork, bench)
    names = {output.id for output in outputs}
    mine = tuple(image for image in heat.images if image.output in names)
    some = heat if len(mine) == len(heat.images) else replace(heat, images=mine)
    layers = len(output_layers(artwork))
    return heat, evenness_objective(some, time=schedule.total, layers=layers)


def _trial(
    artwork: Artwork, bench: Bench, outputs: Sequence[OutputLayer], powers: Powers
) -> _Trial:
    made = with_powers(artwork, outputs, powers)
    heat, objective = judged(made, bench, outputs)
    return _Trial(powers=powers, heat=heat, objective=objective)


def _gains(trial: _Trial, equal: _Trial) -> bool:
    if trial.objective is None or equal.objective is None:
        return False
    return trial.objective.more_even_than(equal.objective)


def _between(trials: Sequence[_Trial]) -> Iterator[Powers]:
    """Powers half way from the best of some trials to those before and after it.

    The way to the fixed point makes hot places cooler, and cold ones at edges colder too: the best
    of both lies on it.
    """
    best = min(range(len(trials)), key=lambda number: _rank(trials[number]))
    for number in (best - 1, best + 1):
        if 0 <= number < len(trials):
            one, other = trials[best].powers, trials[number].powers
            yield {name: math.sqrt(one[name] * other[name]) for name in one}


def _rank(trial: _Trial) -> tuple[float, ...]:
    return () if trial.objective is None else trial.objective.key


def _starts(outputs: Sequence[OutputLayer]) -> Iterator[float]:
    """The factor of each output layer, by its place among those of its layer."""
    for _, same in groupby(outputs, key=lambda output: output.layer):
        yield from start_factors(len(list(same)))


def start_factors(count: int) -> tuple[float, ...]:
    """Factors of the powers of so many output layers that hold rounds, in marking order."""
    if count == 1:
        return (1.0,)
    places = np.linspace(0, len(START) - 1, count)
    return tuple(np.interp(places, range(len(START)), START).tolist())


def _stepped(
    powers: Powers, known: tuple[Powers, Beam], trial: _Trial, outputs: Sequence[OutputLayer]
) -> Powers:
    off = layer_offsets(trial.heat)
    now: Powers = {}
    for _, same in groupby(outputs, key=lambda output: output.layer):
        names = [output.id for output in same if output.id in off]
        middle = float(np.mean([off[name] for name in names])) if names else 0.0
        by = {name: math.exp(-_GAIN * (off[name] - middle)) for name in names}
        now |= {name: known[1].scaled(powers[name], factor) for name, factor in by.items()}
    now = {**powers, **now}
    return _at_level(now, known, trial.heat, outputs)


def _at_level(
    powers: Powers, known: tuple[Powers, Beam], heat: HeatIndex, outputs: Sequence[OutputLayer]
) -> Powers:
    """Powers of each layer brought to index 1 together, or to the mean of their own powers."""
    medians, (own, beam) = layer_medians(heat), known
    found: Powers = {}
    for _, same in groupby(outputs, key=lambda output: output.layer):
        names = [output.id for output in same]
        if heat.calibrated:
            index = [medians[name] for name in names if name in medians]
            factor = 1 / float(np.mean(index)) if index else 1.0
        else:
            logs = [math.log(beam.ratio(powers[name], own[name])) for name in names]
            factor = math.exp(-float(np.mean(logs)))
        found |= {name: beam.scaled(powers[name], factor) for name in names}
    return found
