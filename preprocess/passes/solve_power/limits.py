"""Limits of solved powers: the machine's range, and the marking threshold of the filament."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.marking.checks.profile_checks import least_visible_spike, median_spike
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.settings import Settings
from preprocess.passes.solve_power.solver import scaled_powers, solve_powers, with_powers
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import PowerSteps
    from preprocess.passes.solve_power.solver import Powers, SolvedPowers

_TRIES = 6
"""Speeds simulated to find one at which the machine's powers suffice."""

_INSTEAD = (
    "lengthen short rows with equalize-width, merge paths so that rows cross more of them, or mark "
    "one-way: each evens out the heat without lowering the spike under the beam"
)


def expect_powers(
    powers: Powers,
    solved: SolvedPowers,
    artwork: Artwork,
    bench: Bench,
    outputs: Sequence[OutputLayer],
    strength: float,
) -> None:
    """Expect all powers to lie in the machine's range, to within half a step.

    Raises:
        Refusal: one does not; the remedy gives a speed or power of the layer that fits.
    """
    steps = bench.machine_or_default.power
    for output in outputs:
        power = powers[output.id]
        if not _in_range(power, steps):
            high = power > steps.to
            limit = steps.to if high else steps.from_
            what = "largest" if high else "smallest"
            raise Refusal(
                f"{output.id} needs {digits(100 * power, 3)} % power to be even; the machine's "
                f"{what} is {digits(100 * limit)} %",
                _fitting(output, power, limit, solved, (artwork, bench, outputs), strength),
            )


def _in_range(power: float, steps: PowerSteps) -> bool:
    return steps.from_ - steps.step / 2 <= power <= steps.to + steps.step / 2


def _fitting(
    output: OutputLayer,
    power: float,
    limit: float,
    solved: SolvedPowers,
    job: tuple[Artwork, Bench, Sequence[OutputLayer]],
    strength: float,
) -> str:
    if solved.widest is not None:
        widest = next(o for o in job[2] if o.id == solved.widest)
        beam = beam_of(job[1].machine_or_default)
        own = beam.scaled(solved.own[widest.id], beam.ratio(limit, power))
        percent = (math.floor if power > limit else math.ceil)(100 * own)
        if _all_fit(widest, percent / 100, job, strength):
            return f"give layer {widest.layer!r} about {percent} % power, so that all levels fit"
        return (
            f"no power of layer {widest.layer!r} suits all levels: give a lower strength, or even "
            "out the heat first with equalize-width"
        )
    speed = _fitting_speed(output, power, limit, job)
    way = "slower" if power > limit else "faster"
    if speed is None:
        return f"mark layer {output.layer!r} {way}, or give a lower strength"
    return f"mark layer {output.layer!r} {way}: predicted to fit at about {digits(speed, 3)} mm/s"


def _all_fit(
    widest: OutputLayer,
    power: float,
    job: tuple[Artwork, Bench, Sequence[OutputLayer]],
    strength: float,
) -> bool:
    """Solve again with another power of the widest zone's layer, and test the range."""
    artwork, bench, outputs = job
    steps, beam = bench.machine_or_default.power, beam_of(bench.machine_or_default)
    if not _in_range(power, steps):
        return False
    solved = solve_powers(_with_settings(artwork, widest, Settings(power=power)), bench, outputs)
    return all(_in_range(one, steps) for one in scaled_powers(solved, strength, beam).values())


def _fitting_speed(
    output: OutputLayer,
    power: float,
    limit: float,
    job: tuple[Artwork, Bench, Sequence[OutputLayer]],
) -> float | None:
    """A speed (mm/s) of the layer at which an output layer's power at index 1 is at the limit."""
    artwork, bench, outputs = job
    steps, beam = bench.machine_or_default.speed, beam_of(bench.machine_or_default)
    speed, needed = output.settings.speed or 0.0, power
    for _ in range(_TRIES):
        speed = min(max(speed * beam.ratio(limit, needed), steps.from_), steps.to)
        slower = _with_settings(artwork, output, Settings(speed=speed))
        now = with_powers(slower, outputs, dict.fromkeys((o.id for o in outputs), limit))
        needed = beam.scaled(limit, 1 / layer_medians(heat_index(now, bench))[output.id])
        if (needed <= limit) if power > limit else (needed >= limit):
            break
    else:
        return None
    return (math.floor if power > limit else math.ceil)(speed / steps.step) * steps.step


def _with_settings(artwork: Artwork, output: OutputLayer, changed: Settings) -> Artwork:
    layer = artwork.layer(output.layer)
    settings = changed.over(layer.of(output.operation))
    other = replace(layer, settings={**layer.settings, output.operation: settings})
    layers = tuple(other if each is layer else each for each in artwork.layers)
    return replace(artwork, layers=layers)


def expect_marks(
    after: HeatIndex, solved: SolvedPowers, bench: Bench, outputs: Sequence[OutputLayer]
) -> None:
    """Expect each level to show, by the spike under the beam at its own power and speed.

    Without a graded reference that spike is unknown; the prediction says so.

    Raises:
        Refusal: one does not; the remedy evens out without lowering the spike.
    """
    filament = bench.filament
    if filament is None or filament.reference is None or not filament.marks_from:
        return
    needed = least_visible_spike(filament, bench.machine_or_default)
    for output in outputs:
        share = median_spike(after, output.id)
        if share is not None and share < needed:
            raise Refusal(
                f"{output.id} may not mark at {digits(100 * solved.powers[output.id], 3)} %, the "
                f"power at which it is even: under the beam it gets {share:.2f} times as hot as "
                f"the reference patch, and {filament.name} shows no mark below {needed:.2f} "
                f"({digits(100 * filament.marks_from)} % at {digits(filament.reference.speed)} "
                "mm/s)",
                _instead(output.id, solved, (needed, beam_of(bench.machine_or_default))),
            )


def _instead(name: str, solved: SolvedPowers, known: tuple[float, Beam]) -> str:
    """Other remedies, and the greatest strength at which the level still shows."""
    (needed, beam), before = known, median_spike(solved.before, name)
    change = beam.ratio(solved.powers[name], solved.own[name])
    if before is None or before <= needed or change >= 1:
        return _INSTEAD
    percent = math.floor(100 * math.log(needed / before) / math.log(change))
    return f"{_INSTEAD}; or give strength: {percent} %"
