"""The one power that suits a whole output layer best, among those the machine can be set to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.index_images import lit_values
from preprocess.marking.heat.window_shares import FACTORS, Shares
from preprocess.marking.job.plan import plan_with_powers
from preprocess.marking.machine.beam import beam_of

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine, PowerSteps

_GAIN = 0.02
"""Share of a layer's area by which less must lie outside before another power is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerPower:
    """Powers are shares of the rated power; `own` is as set, `best` the one to set instead.

    `now` and `then` are shares of the layer's area outside the window at these. `best` is `own`
    where no power that the machine can be set to is better; `hottest` is the largest index at it,
    in the unit of the window, and `overheats` that this is above it. `highest` and `lowest` say
    that more, or less, than the machine can be set to would be better still: `light` times that at
    `own` suits the layer best.
    """

    own: float
    best: float
    now: float
    then: float
    hottest: float
    overheats: bool
    highest: bool = False
    lowest: bool = False
    light: float = 1.0

    @property
    def raises(self) -> bool:
        """True if more power suits the layer better."""
        return self.best > self.own

    @property
    def lowers(self) -> bool:
        """True if less power suits the layer better."""
        return self.best < self.own


def layer_powers(
    heat: HeatIndex,
    plan: Plan,
    schedule: Schedule,
    artwork: Artwork,
    bench: Bench,
    effort: Effort = Effort.FULL,
) -> dict[str, LayerPower]:
    """The best power of each output layer that is lit, by the layer's id.

    Images of greys are left out: their cells have powers of their own.
    A layer alone has an index in proportion to its power. Where several warm one another, all are
    simulated once at their new powers, with the effort of `heat`; what is not better there keeps
    its own.
    """
    machine = bench.machine_or_default
    own = plan.powers
    greys = {step.output.id for step in plan.steps if step.output.in_greys}
    lit = dict.fromkeys(image.output for image in heat.images if image.lit.any())
    names = [name for name in lit if name not in greys]
    found = {name: _best(heat, name, own[name], machine) for name in names}
    changed = {name: one.best for name, one in found.items() if one.best != one.own}
    if not changed or (len(names) == 1 and heat.calibrated):
        return found
    if len(names) == 1:
        return {name: _kept(one) for name, one in found.items()}
    other = plan_with_powers(plan, changed)
    there = heat_index_of_plan(other, schedule, artwork, bench, effort=effort)
    for name in changed:
        shares = _shares(there, name)
        then = _outside(shares, 1.0)
        hottest = float(shares.index[-1])
        one = replace(
            found[name], then=then, hottest=hottest, overheats=hottest > shares.window.heavy
        )
        found[name] = one if then < one.now - _GAIN else _kept(one)
    return found


def _kept(one: LayerPower) -> LayerPower:
    return replace(one, best=one.own, then=one.now)


def _best(heat: HeatIndex, output: str, own: float, machine: Machine) -> LayerPower:
    shares, powers = _shares(heat, output), settable_powers(machine.power)
    beam = beam_of(machine)
    now = _outside(shares, 1.0)
    best = shares.steadiest(np.array([beam.ratio(power, own) for power in powers.tolist()]))
    power = float(powers[best])
    then = _outside(shares, beam.ratio(power, own))
    hottest = float(shares.index[-1]) * beam.ratio(power, own)
    over = hottest > heat.window.heavy
    one = LayerPower(own=own, best=power, now=now, then=then, hottest=hottest, overheats=over)
    one = one if then < now - _GAIN else _kept(one)
    light = float(FACTORS[shares.steadiest(FACTORS)])
    free = beam.scaled(own, light)
    beyond = _outside(shares, beam.ratio(free, own)) < one.then - _GAIN
    highest, lowest = free > float(powers[-1]), free < float(powers[0])
    return replace(one, highest=beyond and highest, lowest=beyond and lowest, light=light)


def _outside(shares: Shares, factor: float) -> float:
    return float(np.sum(shares.outside(np.array([factor]))))


def _shares(heat: HeatIndex, output: str) -> Shares:
    index, weight = lit_values([image for image in heat.images if image.output == output])
    base = 1.0 if heat.calibrated else heat.median
    return Shares.of(index / base, weight, heat.window)


def settable_powers(steps: PowerSteps) -> Floats:
    """All powers above nothing that a machine can be set to, ascending."""
    powers = np.round(steps.from_ + steps.step * np.arange(steps.count), 9)
    return np.asarray(powers[powers > 0])
