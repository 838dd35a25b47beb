"""Solver for powers that make the predicted heat index even, on the artwork as marked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.settings import Layer, Operation

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import PowerSteps

_SETTLED = 0.005
"""Powers are settled when none would change by more than this share."""

MOST_SIMULATIONS = 8
"""Simulations before the solver gives up; two or three were enough in all trials."""

Powers = dict[str, float]
"""Share of the rated power by the id of the output layer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedPowers:
    """Powers before rounding. `before` is the heat at the layers' own powers.

    `widest` is the output layer whose index all aim at when nothing is calibrated, else None.
    `reached` is the heat at the powers `tried`, the last that were simulated.
    """

    own: Powers
    powers: Powers
    before: HeatIndex
    widest: str | None
    settled: bool
    tried: Powers
    reached: HeatIndex


def solve_powers(artwork: Artwork, bench: Bench, outputs: Sequence[OutputLayer]) -> SolvedPowers:
    """Find the power of each output layer at which its median index reaches the aim.

    The aim is 1 for a calibrated filament, else the index of the widest zone, which keeps its
    power. The index grows in proportion to a layer's own light, and little with that of others, so
    each step divides by the excess. Simulated at full resolution: with wide columns the index of
    thin tips is off by up to a sixth, and their powers would be wrong. Trials are at powers that
    the machine can be set to, so that the last is the job as it will be written.
    """
    own, beam = own_powers(artwork, outputs), beam_of(bench.machine_or_default)
    steps = bench.machine_or_default.power
    powers, tried, before, widest, settled = dict(own), dict(own), None, None, False
    for _ in range(MOST_SIMULATIONS):
        now = heat_index(with_powers(artwork, outputs, tried), bench)
        index = layer_medians(now)
        if before is None:
            before = now
            widest = None if now.calibrated else widest_of([o for o in outputs if o.id in index])
        factors = _factors(index, 1.0 if widest is None else index[widest])
        powers = {n: beam.scaled(power, factors.get(n, 1.0)) for n, power in tried.items()}
        settled = all(
            abs(factors.get(name, 1.0) - 1) < _SETTLED or steps.nearest(power) == tried[name]
            for name, power in powers.items()
        )
        if settled:
            break
        tried = {name: _settable(power, steps) for name, power in powers.items()}
    assert before is not None  # noqa: S101 - the loop ran
    return SolvedPowers(
        own=own,
        powers=powers,
        before=before,
        widest=widest,
        settled=settled,
        tried=tried,
        reached=now,
    )


def _settable(power: float, steps: PowerSteps) -> float:
    """The nearest that the machine can be set to; beyond its range the power itself."""
    return steps.nearest(power) if steps.holds(power) else power


def _factors(index: Mapping[str, float], aim: float) -> dict[str, float]:
    return {name: aim / value for name, value in index.items() if value > 0}


def own_powers(artwork: Artwork, outputs: Sequence[OutputLayer]) -> Powers:
    """The power of the layer that each output layer belongs to, without levels."""
    return {o.id: artwork.layer(o.layer).of(o.operation).power or 1.0 for o in outputs}


def widest_of(outputs: Sequence[OutputLayer]) -> str | None:
    """Of those at level 1 or without levels the one with the widest path along its rows."""
    first = [o for o in outputs if o.level in {None, 1}] or list(outputs)
    return max(first, key=_width).id if first else None


def _width(output: OutputLayer) -> float:
    frame = RowFrame(output.settings.angle or 0.0)
    boxes = [frame.to_rows(s.geometry).bounds for s in output.shapes if not s.geometry.is_empty]
    return max((box[2] - box[0] for box in boxes), default=0.0)


def scaled_powers(solved: SolvedPowers, strength: float, beam: Beam) -> Powers:
    """Powers that correct a share of the unevenness: light = own · (solved / own)^strength."""
    return {
        name: beam.scaled(own, beam.ratio(solved.powers[name], own) ** strength)
        for name, own in solved.own.items()
    }


def with_powers(
    artwork: Artwork, outputs: Sequence[OutputLayer], powers: Mapping[str, float]
) -> Artwork:
    """The artwork with other powers of some output layers; the layers' own powers stay."""
    layers = []
    for layer in artwork.layers:
        now = layer
        for output in outputs:
            if output.layer == layer.name:
                now = _with_power(now, output, powers[output.id])
        layers.append(now)
    return replace(artwork, layers=tuple(layers))


def _with_power(layer: Layer, output: OutputLayer, power: float) -> Layer:
    """The layer with another power of one of its output layers; traced ones have no share."""
    settings = layer.of(output.operation)
    share = power / (settings.power or 1.0)
    if output.level is not None:
        missing = (1.0,) * (output.level - len(layer.shares))
        shares = (*layer.shares, *missing)
        return replace(layer, shares=(*shares[: output.level - 1], share, *shares[output.level :]))
    if output.operation is Operation.ENGRAVE:
        return replace(layer, plain_share=share)
    other = {**layer.settings, output.operation: replace(settings, power=power)}
    return replace(layer, settings=other)
