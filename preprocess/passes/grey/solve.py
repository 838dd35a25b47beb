"""Power of every cell: a fixed point over three spreads, as greys that the machine can give.

Each step multiplies a cell's light by exp(−0.9 r), where r is how far its index lies off the
median. Each trial is quantised to greys and simulated as it would be marked. The most even one is
kept, and even greys where none is more even than they.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.objective import (
    Objective,
    evenness_objective,
    evenness_rank,
    more_even,
)
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import beam_of
from preprocess.marking.machine.grey_curve import grey_powers, greys_of
from preprocess.model.artwork.grey import WHITE
from preprocess.model.artwork.output import output_layers
from preprocess.passes.grey.cell_heat import median_index, offsets

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.arrays import Floats, Greys
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Grey
    from preprocess.passes.grey.layer_cells import LayerCells

_GAIN = 0.9
"""Exponent of a step: a cell also warms those beside it."""

_BOUNDS = 0.45, 1.9
"""Least and greatest light of a cell over that of the layer's own power."""

_STEPS = 8
"""Most steps; fewer where the last ones gained nothing."""

_PATIENCE = 2
"""Steps in a row that may gain nothing before the search ends; one where columns are wide, since a
large job gains little and takes long."""


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """Greys of each layer as they were simulated.

    `clipped` is the share of lit cells whose wanted power lies beyond the curve's ends.
    """

    greys: tuple[Greys, ...]
    clipped: tuple[float, ...]
    artwork: Artwork
    heat: HeatIndex
    objective: Objective | None


def solved_greys(
    layers: Sequence[LayerCells],
    bench: Bench,
    drawn: Callable[[Sequence[Greys]], Artwork],
) -> tuple[Trial, Trial]:
    """The most even trial, and that of even greys.

    Args:
        layers: what to solve.
        bench: its machine has a curve.
        drawn: the whole artwork with given greys of these layers.
    """
    machine = bench.machine_or_default
    curve, beam = machine.grey, beam_of(machine)
    assert curve is not None  # noqa: S101 - the pass has looked
    names = [layer.name for layer in layers]

    def tried(lights: Sequence[Floats]) -> Trial:
        greys, clipped = [], []
        for layer, light in zip(layers, lights, strict=True):
            found, share = _quantised(layer, light, curve, beam)
            greys.append(found)
            clipped.append(share)
        return _simulated(greys, clipped, drawn(greys), bench, names)

    lights = [np.where(layer.lit, beam.light(layer.power), 0.0) for layer in layers]
    equal = tried(lights)
    if equal.heat.calibrated:
        lights = [
            light / median_index(equal.heat, _outputs_of(equal.artwork, layer.name))
            for light, layer in zip(lights, layers, strict=True)
        ]
        equal = tried(lights)
    trials = [equal]
    for number in range(_STEPS):
        patience = 1 if equal.heat.wide_columns else _PATIENCE
        if number - _best(trials) >= patience:
            break
        lights = [
            _stepped(light, layer, trials[-1], beam)
            for light, layer in zip(lights, layers, strict=True)
        ]
        trials.append(tried(lights))
    return more_even(trials, equal), equal


def even_greys(layers: Sequence[LayerCells], bench: Bench) -> list[Greys]:
    """Greys of each layer with the layer's own power in every cell."""
    curve, beam = bench.machine_or_default.grey, beam_of(bench.machine_or_default)
    assert curve is not None  # noqa: S101 - the pass has looked
    lights = [np.where(layer.lit, beam.light(layer.power), 0.0) for layer in layers]
    each = zip(layers, lights, strict=True)
    return [_quantised(layer, light, curve, beam)[0] for layer, light in each]


def _best(trials: Sequence[Trial]) -> int:
    """Number of the most even of some trials."""
    return min(range(len(trials)), key=lambda number: evenness_rank(trials[number]))


def _quantised(layer: LayerCells, light: Floats, curve: Grey, beam: Beam) -> tuple[Greys, float]:
    power = beam.offset + light * (1 - beam.offset)
    known = grey_powers(curve)
    slack = abs(known[0] - known[1])
    beyond = layer.lit & ((power > curve.to + slack) | (power < curve.from_ - slack))
    greys = np.where(layer.lit, greys_of(power, curve), WHITE).astype(np.uint8)
    return greys, float(beyond.sum() / max(1, layer.lit.sum()))


def _simulated(
    greys: Sequence[Greys],
    clipped: Sequence[float],
    artwork: Artwork,
    bench: Bench,
    names: Sequence[str],
) -> Trial:
    machine = bench.machine_or_default
    plan = plan_of(artwork, machine)
    schedule = schedule_of(plan, machine)
    heat = heat_index_of_plan(plan, schedule, artwork, bench, effort=Effort.BOUNDED)
    outputs = output_layers(artwork)
    mine = {output.id for output in outputs if output.layer in names and output.in_greys}
    images = tuple(image for image in heat.images if image.output in mine)
    some = heat if len(images) == len(heat.images) else replace(heat, images=images)
    objective = evenness_objective(some, time=schedule.total, layers=len(outputs))
    return Trial(tuple(greys), tuple(clipped), artwork, heat, objective)


def _outputs_of(artwork: Artwork, layer: str) -> set[str]:
    return {one.id for one in output_layers(artwork) if one.layer == layer and one.in_greys}


def _stepped(light: Floats, layer: LayerCells, trial: Trial, beam: Beam) -> Floats:
    """The next light of each cell.

    Its geometric mean is that of the layer's own power; of a graded filament it is what brings
    the median index to 1.
    """
    outputs, lit = _outputs_of(trial.artwork, layer.name), layer.lit
    own = beam.light(layer.power)
    factor = np.where(lit, light / own, 1.0)
    mean = _geometric_mean(factor[lit])
    level = mean / median_index(trial.heat, outputs) if trial.heat.calibrated else 1.0
    off = offsets(trial.heat, outputs, layer.grid)
    factor = np.clip(factor / mean * np.exp(-_GAIN * off), *_BOUNDS)
    factor *= level / _geometric_mean(factor[lit])
    return np.where(lit, own * factor, 0.0)


def _geometric_mean(values: Floats) -> float:
    return float(np.exp(np.log(values).mean()))
