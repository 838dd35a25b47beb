"""Rating of a simulated way, at the best power where all areas share one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.advice.levels import levelled_index
from preprocess.advice.pareto import WayFigures
from preprocess.marking.checks.profile_checks import least_visible_spike, median_spike
from preprocess.marking.heat.evenness import evenness_of
from preprocess.marking.heat.index_images import lit_values
from preprocess.marking.heat.layer_power import settable_powers
from preprocess.marking.heat.window_shares import Shares
from preprocess.marking.machine.beam import beam_of

if TYPE_CHECKING:
    from preprocess.advice.simulate import Simulation
    from preprocess.advice.ways import Way
    from preprocess.arrays import Floats
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedWay:
    """A way with its power settled, and what it comes to."""

    way: Way
    figures: WayFigures


def rate_simulation(trial: Simulation, bench: Bench) -> RatedWay | None:
    """Figures of a trial; None where no power that the machine has would show.

    A graded filament tells which power suits areas that share one: the index is proportional to
    it. Powers that the recipe gives or a pass solved stay, and so do all without grades.
    """
    index, weight = lit_values(trial.heat.images)
    way, power = trial.way, trial.way.power
    if way.given or way.levels or power is None:
        return RatedWay(way=way, figures=_figures(trial, (index, weight), trial.way.levels))
    machine = bench.machine_or_default
    allowed, beam = settable_powers(machine.power), beam_of(machine)
    allowed = allowed[allowed >= beam.scaled(power, _least_factor(trial, bench)) - 1e-9]
    if not len(allowed):
        return None
    shares = Shares.of(index, weight, trial.heat.window)
    factors = np.array([beam.ratio(one, power) for one in allowed.tolist()])
    chosen = shares.best(factors)
    best = float(allowed[chosen])
    found = _figures(trial, (index * factors[chosen], weight), 0)
    return RatedWay(way=replace(way, power=best), figures=found)


def estimate_levels(trial: Simulation, one: RatedWay, levels: int) -> RatedWay:
    """Estimate of the figures with levels, from a trial without them."""
    layer_of = {output.id: output.layer for output in trial.outputs}
    lit = [patch for patch in trial.heat.images if patch.lit.any()]
    layers = len({layer_of[patch.output] for patch in lit})
    index, weight = levelled_index(trial.heat.images, layer_of, levels)
    found = _figures(trial, (index, weight), levels)
    more = (levels - 1) * layers
    return RatedWay(
        way=replace(one.way, levels=levels),
        figures=replace(found, layers=found.layers + more),
    )


def _least_factor(trial: Simulation, bench: Bench) -> float:
    """By which factor the power may fall at most, so that every layer still shows."""
    if bench.filament is None or bench.filament.reference is None:
        return 0.0
    needed = least_visible_spike(bench.filament, bench.machine_or_default)
    spikes = (median_spike(trial.heat, output.id) for output in trial.outputs)
    return max((needed / spike for spike in spikes if spike), default=0.0)


def _figures(trial: Simulation, places: tuple[Floats, Floats], levels: int) -> WayFigures:
    index, weight = places
    shares = Shares.of(index, weight, trial.heat.window)
    median = float(shares.index[np.searchsorted(shares.upto[1:], 0.5)])
    if not trial.heat.calibrated:
        shares = Shares(shares.index / median, shares.upto, shares.window)
    too_weak, too_heavy = (float(share[0]) for share in shares.outside(np.ones(1)))
    mean = float(np.average(index, weights=weight))
    spread = float(np.sqrt(np.average((index - mean) ** 2, weights=weight)))
    solved = levels > 1 and all(output.level is None for output in trial.outputs)
    return WayFigures(
        too_weak=too_weak,
        too_heavy=max(too_heavy, 0.0),
        median=median,
        variation=spread / mean,
        rows=None if solved else _rows(trial),
        margin=shares.margin(),
        time=trial.time,
        layers=len(trial.outputs),
    )


def _rows(trial: Simulation) -> float | None:
    """Largest over median of the row medians, first and last rows apart."""
    lit = {patch.output for patch in trial.heat.images if patch.lit.any()}
    mine = [output for output in trial.outputs if output.id in lit]
    layers = [[o.id for o in same] for _, same in groupby(mine, key=lambda o: o.layer)]
    found = evenness_of(trial.heat, layers)
    return None if found is None else found.rows
