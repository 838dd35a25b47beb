"""Speeds at which the machine's power suffices, and artwork with its rows at another speed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import SpeedSteps


def slower_speed(own: float, short: float, steps: SpeedSteps, slowest: float) -> float | None:
    """The speed at which a light of `short` times the machine's most would do; None if not slower.

    Args:
        own: speed now, mm/s.
        short: above 1.
        steps: of the machine.
        slowest: least speed that may be asked for, mm/s.
    """
    speed = max(steps.at_most(own / short), steps.at_least(min(slowest, own)))
    return None if speed >= own else speed


def faster_speed(own: float, excess: float, steps: SpeedSteps, fastest: float) -> float | None:
    """The speed at which the least light would be `excess` times less; None if not faster.

    `own` and `fastest` are mm/s, `excess` is above 1.
    """
    speed = steps.at_most(min(own * excess, max(fastest, own)))
    return None if speed <= own else speed


def with_row_speed(artwork: Artwork, speed: float) -> Artwork:
    """The same with all its rows at another speed, mm/s: no pass depends on it."""
    return _with_speed(artwork, speed, [one for one in output_layers(artwork) if _is_rows(one)])


def with_layer_speed(artwork: Artwork, output: OutputLayer, speed: float) -> Artwork:
    """The same with the layer and operation of one output layer at another speed, mm/s."""
    return _with_speed(artwork, speed, [output])


def _is_rows(output: OutputLayer) -> bool:
    return output.operation is Operation.ENGRAVE or output.in_rounds


def _with_speed(artwork: Artwork, speed: float, outputs: list[OutputLayer]) -> Artwork:
    rows = {(one.layer, one.operation) for one in outputs}
    layers = (
        replace(
            layer,
            settings={
                operation: replace(held, speed=speed) if (layer.name, operation) in rows else held
                for operation, held in layer.settings.items()
            },
        )
        for layer in artwork.layers
    )
    return replace(artwork, layers=tuple(layers))
