"""Powers of swept colours: even among them, and at index 1 where a filament is graded."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.offsets import layer_offsets
from preprocess.marking.heat.index_images import lit_values, weighted_quantile
from preprocess.marking.machine.beam import beam_of

if TYPE_CHECKING:
    from collections.abc import Container, Mapping, Sequence

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.job.plan import Plan
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine

_ENOUGH = 0.97
"""Median of the index below which the machine lacks power."""

_DAMPED = 0.8
"""Share of an offset by which a colour's power is changed: neighbours' powers change too."""


def swept_powers(plan: Plan, heat: HeatIndex) -> dict[str, float]:
    """Power of each output layer of rows, a share, by its id and in marking order."""
    lit = {image.output for image in heat.images if image.lit.any()}
    return {name: power for name, power in plan.powers.items() if name in lit}


def colour_numbers(outputs: Sequence[OutputLayer], swept: Container[str]) -> dict[str, int]:
    """Number of each swept output among the colours of its layer, from 0."""
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    for output in outputs:
        if output.id in swept:
            found[output.id] = counts.get(output.layer, 0)
            counts[output.layer] = found[output.id] + 1
    return found


def even_powers(
    heat: HeatIndex, own: Mapping[str, float], number: Mapping[str, int], machine: Machine
) -> dict[str, float]:
    """Settable powers by output: even among the colours, and at index 1 where that is known.

    Args:
        heat: at the powers `own`.
        own: by output.
        number: colours of one number get the same share, by output.
        machine: whose powers they are; none is beyond its last.
    """
    offsets, steps = layer_offsets(heat), machine.power
    mean = {
        one: float(np.mean([offsets[name] for name, other in number.items() if other == one]))
        for one in set(number.values())
    }
    change = {name: float(np.exp(-_DAMPED * mean[number[name]])) for name in own}
    scale = 1.0 / middle_index(heat) if heat.calibrated else 1.0
    beam = beam_of(machine)
    wanted = {name: beam.scaled(own[name], change[name] * scale) for name in own}
    over = max([1.0, *(beam.ratio(power, steps.to) for power in wanted.values())])
    return {name: steps.nearest(beam.scaled(power, 1 / over)) for name, power in wanted.items()}


def scaled_heat(heat: HeatIndex, ratio: float) -> HeatIndex:
    """The heat with all powers changed alike, to `ratio` times the light: it is in proportion."""
    images = (
        replace(
            image,
            index=ratio * image.index,
            spike=ratio * image.spike,
            residual=ratio * image.residual,
            at_spreads=None if image.at_spreads is None else ratio * image.at_spreads,
        )
        for image in heat.images
    )
    return replace(heat, images=tuple(images))


def middle_index(heat: HeatIndex) -> float:
    """The median of the heat index over the lit area."""
    return weighted_quantile(*lit_values(heat.images), 0.5)


def lacking_light(heat: HeatIndex, own: Mapping[str, float], machine: Machine) -> float | None:
    """Times the machine's most light that the median needs to be as the patch; None if less is."""
    beam = beam_of(machine)
    light = max(beam.ratio(power, machine.power.to) for power in own.values())
    short = light / middle_index(heat)
    return short if short > 1 / _ENOUGH else None
