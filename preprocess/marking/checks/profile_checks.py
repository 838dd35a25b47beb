"""Fit of a filament's profile to this job: marking threshold, machine, spool, settings.

Does it mark at all? The direct spike tells: the peak under the beam before the smoothing of the
index. On the reference patch, at its own speed, it is proportional to power; the filament's
`marks_from` is therefore a spike of `marks_from / power of the reference`, as a share of the
reference patch's. A layer shows nothing where its own share lies below that, whatever its power,
speed and pitch. How wide its rows are hardly matters for the spike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Finding, note, warn
from preprocess.marking.checks.extra_settings import other_extra_settings
from preprocess.marking.checks.extrapolation import extrapolation_findings
from preprocess.marking.heat.index_images import lit_values, weighted_quantile
from preprocess.marking.job.schedule import settings_of_rows
from preprocess.marking.machine.beam import beam_of
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from preprocess.model.bench.filament import Filament, MarkTone, Reference
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine

_FAR = 2.0
"""Factor of pitch or speed beyond which a job is no longer like the reference patch."""

_BEYOND_LINEAR = {
    MarkTone.DARKER: "a darker mark chars there, which takes up more light",
    MarkTone.LIGHTER: "a lighter mark foams there, which keeps its heat",
}


def profile_findings(
    heat: HeatIndex,
    plan: Plan,
    schedule: Schedule,
    bench: Bench,
    powers: Mapping[str, LayerPower] | None = None,
) -> tuple[Finding, ...]:
    """Findings on settings beyond the profile, and on layers that may not mark at all.

    Lines that make up no rows are not judged: the model has rows only. `powers` says which layers
    want less power for their heat: those are not told to raise it.
    """
    filament = bench.filament
    found = [] if heat.calibrated or not heat.images else [_uncalibrated(filament)]
    if filament is None:
        return tuple(found)
    by_output = settings_of_rows(plan, schedule)
    found += _other_machine(filament, bench)
    found += _other_filament(filament, bench)
    found += other_extra_settings(filament, by_output)
    if filament.tried is not None:
        found += extrapolation_findings(filament.tried, plan, schedule)
    elif filament.reference is not None:
        found += _far(by_output, filament.reference)
    if filament.marks_from:
        found += _faint(heat, by_output, filament, powers or {}, bench.machine_or_default)
    found += _feeds_itself(heat, filament)
    return tuple(found)


def _uncalibrated(filament: Filament | None) -> Finding:
    what = (
        "no filament is named"
        if filament is None
        else f"{filament.name} lacks a graded reference or its window"
    )
    return note(
        "uncalibrated",
        f"{what}, so the heat index is {UNCALIBRATED}",
        "mark and grade a test patch, and give the filament its reference: and window:",
    )


def _feeds_itself(heat: HeatIndex, filament: Filament) -> Iterator[Finding]:
    """By the tone of the mark: what makes hot places hotter than a linear prediction says."""
    if filament.mark is None or not heat.calibrated or heat.too_heavy <= 0:
        return
    message = (
        f"{100 * heat.too_heavy:.1f} % of the area is predicted above the window, and "
        f"{_BEYOND_LINEAR[filament.mark]}: it may get heavier than predicted"
    )
    yield note("hotter-than-predicted", message, "try these places on a spare part first")


def _other_machine(filament: Filament, bench: Bench) -> Iterator[Finding]:
    if filament.machine is None or bench.machine is None:
        return
    if plain_name(filament.machine) != plain_name(bench.machine.name):
        message = (
            f"{filament.name} was graded on {filament.machine!r}, "
            f"but the machine here is {bench.machine.name!r}"
        )
        yield warn("another-machine", message, "grade the filament on this machine")


def _other_filament(filament: Filament, bench: Bench) -> Iterator[Finding]:
    """Parts printed of another spool than was graded: by the recipe, or in a profile's copy."""
    graded = (filament.tried.filament if filament.tried else None) or filament.name
    printed = [part.filament or filament.name for part in bench.parts] or [filament.name]
    for here in dict.fromkeys(printed):
        if plain_name(here) != plain_name(graded):
            yield another_filament(f"the grades are of {graded!r}, but the part is of {here!r}")


def another_filament(what: str) -> Finding:
    """The warning that grades of one spool are used for another."""
    return warn(
        "another-filament",
        f"{what}: another colour of the same polymer absorbs the laser differently",
        "mark a small coupon of each spool, and fit it into a profile of its own; a spool that has "
        "only another name gets it with evenmark fit --name",
    )


def plain_name(name: str) -> str:
    """A name as it is compared: capitals and spaces do not count."""
    return " ".join(name.casefold().split())


def _far(by_output: Mapping[str, Settings], reference: Reference) -> Iterator[Finding]:
    for output, settings in by_output.items():
        for what, unit, here, there in (
            ("pitch", "mm", settings.pitch, reference.pitch),
            ("speed", "mm/s", settings.speed, reference.speed),
        ):
            if here is not None and not 1 / _FAR <= here / there <= _FAR:
                message = (
                    f"the {what} of {output}, {digits(here)} {unit}, is {digits(here / there, 2)} "
                    f"times that of the reference patch, {digits(there)} {unit}: not graded"
                )
                remedy = f"stay within a factor of {digits(_FAR)}, or grade a patch like this layer"
                yield note("far-from-reference", message, remedy)


def _faint(
    heat: HeatIndex,
    by_output: Mapping[str, Settings],
    filament: Filament,
    powers: Mapping[str, LayerPower],
    machine: Machine,
) -> Iterator[Finding]:
    needed = least_visible_spike(filament, machine)
    for output, settings in by_output.items():
        share = median_spike(heat, output)
        if share is not None and share < needed:
            lowers = output in powers and powers[output].lowers
            power = beam_of(machine).scaled(settings.power or 1.0, needed / share)
            yield _unseen(output, (share, needed), power, filament, lowers=lowers)


def least_visible_spike(filament: Filament, machine: Machine) -> float:
    """The least spike that shows, as a share of the reference patch's; 0 if unknown."""
    if not filament.marks_from:
        return 0.0
    return beam_of(machine).ratio(filament.marks_from, (filament.reference or Reference()).power)


def median_spike(heat: HeatIndex, output: str) -> float | None:
    """The median spike of an output layer as a share of the reference patch's; None if unlit."""
    mine = [p for p in heat.images if p.output == output and p.lit.any()]
    if not mine:
        return None
    spikes = np.concatenate([p.spike[p.lit] for p in mine])
    return weighted_quantile(spikes, lit_values(mine)[1], 0.5)


def _unseen(
    output: str,
    spikes: tuple[float, float],
    power: float,
    filament: Filament,
    *,
    lowers: bool,
) -> Finding:
    reference, (share, needed) = filament.reference or Reference(), spikes
    message = (
        f"{output} may not show at all: under the beam it gets {share:.2f} times as hot as the "
        f"reference patch, and {filament.name} shows nothing below {needed:.2f} "
        f"({digits(100 * (filament.marks_from or 0.0))} % at {digits(reference.speed)} mm/s)"
    )
    remedy = "mark it slower and test it"
    if lowers:
        remedy = "mark it faster, at a power that is as much higher, and test it"
    elif power <= 1:
        remedy = f"raise its power above {100 * power:.0f} %, or {remedy}"
    if filament.reference is None:
        return note("does-it-mark", f"{message} ({UNCALIBRATED})", remedy)
    return warn("does-it-mark", message, remedy)
