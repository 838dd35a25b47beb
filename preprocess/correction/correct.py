"""Correct a job by its measured map: powers of the next part, and what they should make of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.correction.measured_heat import measured_heat
from preprocess.correction.moves import LEAST, MOST, WORTH, LayerTone, layer_tones, moved_heat
from preprocess.errors import Refusal
from preprocess.findings import Finding, warn
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.output import output_layers
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.causes.found import Causes
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.photo.measured import MeasuredJob

MOST_CORRECTIONS = 2
"""Corrections of one job, after which what is left is noise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedPower:
    """A colour layer with its power before and after, as shares of the rated power."""

    layer: LayerTone
    was: float
    now: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """Powers of the next part.

    `causes` are those of the measured part. `before` and `after` are heat's unevenness, rms ΔL*;
    `after` is predicted.
    """

    causes: Causes
    powers: tuple[MovedPower, ...]
    before: float
    after: float
    findings: tuple[Finding, ...]

    def shares(self, artwork: Artwork) -> tuple[float, ...]:
        """Power of each level over that of its layer, in the order of the levels.

        Raises:
            Refusal: powers of several layers, or of none with levels, were moved.
        """
        names = {moved.layer.output.layer for moved in self.powers}
        levels = [moved.layer.output.level for moved in self.powers]
        if len(names) != 1 or None in levels:
            raise Refusal(
                "only the levels or rounds of one layer can be written into a recipe",
                "type the powers of the table into the laser software",
            )
        layer = artwork.layer(names.pop())
        operation = self.powers[0].layer.output.operation
        own = layer.of(operation).power or 1.0
        now = {moved.layer.output.level: moved.now / own for moved in self.powers}
        count = max(len(layer.shares), *(level for level in levels if level is not None))
        shares = (*layer.shares, *(1.0,) * (count - len(layer.shares)))
        return tuple(now.get(n + 1, share) for n, share in enumerate(shares))


def corrected_powers(
    job: MeasuredJob, artwork: Artwork, bench: Bench, trials: Sequence[CouponTrial] = ()
) -> Correction:
    """Move the power of each colour layer by what heat did to its tone.

    Args:
        job: the measured map.
        artwork: as it was marked.
        bench: machine and filament of the recipe.
        trials: coupons of the filament, of which measured ones tell the slope of the tone.

    Raises:
        Refusal: heat is no cause, no layer was measured, or no move is worth a part.
    """
    causes, slope, findings = measured_heat(job, bench, trials)
    if any(output.in_greys for output in output_layers(artwork)):
        raise Refusal(
            "greys hold a power for each cell, which no power of a colour can move",
            "keep the step grey in the recipe, which solves them anew",
        )
    layers = layer_tones(job, causes.heat, artwork, slope)
    if not layers:
        raise Refusal(
            "the map shows none of the recipe's engraved layers",
            "measure the photo with this recipe",
        )
    moved = tuple(_moved(layer, bench) for layer in layers)
    reached = tuple(_reached(one, bench) for one in moved)
    before = float(np.nanstd(causes.heat))
    after = float(np.nanstd(moved_heat(job, causes.heat, reached, slope, artwork)))
    if after > (1 - WORTH) * before:
        raise Refusal(
            f"the powers of {_count(layers)} can hardly even this out: from {before:.1f} to "
            f"{after:.1f} ΔL*, as each of them reaches hot and cool places alike",
            "part the areas by heat (tag-power: {by: heat, levels: 4}); where that was done, "
            "rounds even out more: interleave: {colours: 4}, then solve-power",
        )
    return Correction(
        causes=causes,
        powers=moved,
        before=before,
        after=after,
        findings=(*findings, *_limits(moved, bench)),
    )


def _moved(layer: LayerTone, bench: Bench) -> MovedPower:
    """The power that gives the wanted light, within what was tried and can be set."""
    machine = bench.machine_or_default
    was = layer.output.settings.power or 1.0
    wanted = beam_of(machine).scaled(was, layer.factor)
    tried = bench.filament.tried if bench.filament else None
    if tried is not None and tried.power is not None and layer.factor != 1:
        low, high = tried.power
        wanted = min(max(wanted, min(low, was)), max(high, was))
    now = was if layer.factor == 1 else machine.power.nearest(wanted)
    return MovedPower(layer=layer, was=was, now=now)


def _reached(moved: MovedPower, bench: Bench) -> LayerTone:
    """The layer with the factor that its new power gives."""
    beam = beam_of(bench.machine_or_default)
    return replace(moved.layer, factor=beam.ratio(moved.now, moved.was))


def _limits(powers: Sequence[MovedPower], bench: Bench) -> Iterator[Finding]:
    """What keeps a power from going as far as the tone asks."""
    beam = beam_of(bench.machine_or_default)
    bound = [m for m in powers if m.layer.factor in {LEAST, MOST}]
    short = [
        m
        for m in powers
        if abs(np.log(beam.ratio(m.now, m.was) / m.layer.factor)) > WORTH and m not in bound
    ]
    for which, why in (
        (bound, f"one round moves light by {digits(LEAST)} to {digits(MOST)} at most"),
        (short, "powers stay within those of graded cells and of the machine"),
    ):
        if which:
            names = ", ".join(m.layer.output.id for m in which)
            shown = ", ".join(f"{digits(100 * m.now, 4)} %" for m in which)
            yield warn(
                "correction-bounded",
                f"{names} would need to go further than {shown}: {why}",
                "mark the next part, measure it, and correct once more",
            )


def _count(layers: Sequence[LayerTone]) -> str:
    return "one colour" if len(layers) == 1 else f"{len(layers)} colours"
