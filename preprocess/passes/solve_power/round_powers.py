"""Powers of rounds: one small step each, so that later rounds on warm plastic mark like the first.

They are searched for on what each colour adds to the index, at three spreads, simulated once more
as the machine can be set, and kept only where the worst places become more even.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.objective import Objective, evenness_objective, more_even
from preprocess.marking.heat.index import heat_index, heat_index_of_plan
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.output import output_layers
from preprocess.passes.solve_power.round_response import round_responses
from preprocess.passes.solve_power.round_search import most_even_powers
from preprocess.passes.solve_power.solver import (
    Powers,
    SolvedPowers,
    own_powers,
    with_powers,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench


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
    level = _at_level(own, (own, beam), drawn.heat, outputs)

    def tried(powers: Powers) -> _Trial:
        settable = {name: steps.nearest(power) for name, power in powers.items()}
        known = [trial for trial in trials if trial.powers == settable]
        return known[0] if known else _trial(artwork, bench, outputs, settable)

    def heat_with(light: dict[str, float]) -> HeatIndex:
        powers = {n: beam.scaled(power, light.get(n, 1.0)) for n, power in level.items()}
        return heat_index(with_powers(artwork, outputs, powers), bench)

    trials = [drawn]
    equal = tried(level)
    even = drawn.heat if level == own else heat_with({})
    powers = dict(level)
    for response in round_responses(outputs, even, heat_with):
        powers |= most_even_powers(response, level, steps, beam)
    trials = [drawn, equal, tried(powers)]
    trials.append(tried(_at_level(trials[-1].powers, (own, beam), trials[-1].heat, outputs)))
    best = more_even(trials, equal)
    return SolvedPowers(
        own=own,
        powers=best.powers,
        before=drawn.heat,
        widest=None,
        settled=True,
        tried=best.powers,
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
