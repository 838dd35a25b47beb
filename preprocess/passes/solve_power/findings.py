"""Findings about solved powers: each level, evenness before and after, order of levels."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, warn
from preprocess.marking.evenness.seam import step_between_outputs
from preprocess.marking.evenness.sentence import objective_sentence
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from preprocess.passes.solve_power.solver import MOST_SIMULATIONS
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.marking.evenness.objective import Objective
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench
    from preprocess.passes.solve_power.solver import Powers, SolvedPowers


_WORSE = 0.005
"""Share by which the worst place must be worse before it is a warning."""


_STEP = 0.02
"""Step between levels that is worth telling, as a share."""


def power_findings(
    solved: SolvedPowers, powers: Powers, after: HeatIndex, outputs: Sequence[OutputLayer]
) -> tuple[Finding, ...]:
    """Powers and index of each output layer before and after."""
    return (
        *_aim(solved, after),
        *_each(solved, powers, after, outputs),
        *_alike(powers, outputs),
        *_unsettled(solved),
    )


def _aim(solved: SolvedPowers, after: HeatIndex) -> Iterator[Finding]:
    if solved.widest is not None:
        index = layer_medians(after)[solved.widest]
        message = (
            f"reference and window are missing: all levels aim at the index of {solved.widest}, "
            f"{index:.2f}, which keeps its power ({UNCALIBRATED})"
        )
        remedy = "grade a test patch, so that all powers are solved against the window"
        yield note("powers-by-ranking", message, remedy)


def _each(
    solved: SolvedPowers, powers: Powers, after: HeatIndex, outputs: Sequence[OutputLayer]
) -> Iterator[Finding]:
    index = layer_medians(solved.before), layer_medians(after)
    for output in outputs:
        name = output.id
        if name not in index[0]:
            found = note("power-not-solved", f"{name} keeps its power: it lies on no part")
        else:
            message = (
                f"{name}: power {_percent(solved.own[name])} → {_percent(powers[name])}, "
                f"predicted index {index[0][name]:.3f} → {index[1][name]:.3f}"
            )
            found = note("power-solved", message)
        yield replace(found, layer=output.layer)


def _percent(power: float) -> str:
    return f"{digits(100 * power, 4)} %"


def _alike(powers: Powers, outputs: Sequence[OutputLayer]) -> Iterator[Finding]:
    """Levels of a layer with the same settings."""
    for layer, mine in groupby(outputs, key=lambda o: o.layer):
        by_power: dict[float, list[str]] = {}
        for output in mine:
            by_power.setdefault(powers[output.id], []).append(output.id)
        for power, names in by_power.items():
            if len(names) > 1:
                message = f"{', '.join(names)} have the same power, {_percent(power)}"
                found = note("set-up-as-one", message, "copy the settings of one to the other")
                yield replace(found, layer=layer)


def _unsettled(solved: SolvedPowers) -> Iterator[Finding]:
    if not solved.settled:
        message = f"the powers have not settled after {MOST_SIMULATIONS} simulations"
        yield warn(
            "powers-unsettled", message, "give the layers fewer levels, or mark a test piece"
        )


def evenness_finding(before: Objective | None, after: Objective | None) -> Iterator[Finding]:
    """Evenness of the solved layers, beside one power for all."""
    if before is None or after is None:
        return
    message = objective_sentence(after, before=before)
    if after.likely.off > before.likely.off + _WORSE:
        remedy = "leave out solve-power and the pass that makes levels; interleave makes rows even"
        yield warn("solved-less-even", f"one power for all is more even: {message}", remedy)
    else:
        yield note("evenness", message)


def border_findings(after: HeatIndex, outputs: Sequence[OutputLayer]) -> Iterator[Finding]:
    """How large a step remains where levels of a layer meet."""
    for layer, mine in groupby(outputs, key=lambda output: output.layer):
        step = step_between_outputs(after, [output.id for output in mine])
        if step > _STEP:
            message = (
                f"levels of {layer} meet in a step of {digits(100 * step, 2)} % of the heat index, "
                "from three rows to the next three"
            )
            remedy = "interleave leaves no borders; else fewer levels leave fewer"
            yield note("levels-step", message, remedy, layer=layer)


def order_findings(
    artwork: Artwork, bench: Bench, outputs: Sequence[OutputLayer]
) -> tuple[Finding, ...]:
    """Levels that begin above the end of the level before.

    Heat is then less continuous than in one sweep. The order stays: a person decides it.
    """
    names = {output.id for output in outputs}
    groups = [
        g for g in plan_of(artwork, bench.machine_or_default).steps if isinstance(g, RasterGroup)
    ]
    mine = [group for group in groups if group.output.id in names and group.output.level]
    found = []
    for layer, same in groupby(mine, key=lambda group: group.output.layer):
        levels = [list(some) for _, some in groupby(same, key=lambda group: group.output.id)]
        for one, two in pairwise(levels):
            back = max(g.first + g.count * g.pitch for g in one) - min(g.first for g in two)
            if back > one[0].pitch:
                message = (
                    f"{two[0].output.id} begins {back:.1f} mm above the last row of "
                    f"{one[0].output.id}: levels are marked out of the order of their rows, so "
                    "heat is less continuous at their borders"
                )
                remedy = "leave it so: the powers are solved for this order"
                found.append(replace(note("levels-out-of-row-order", message, remedy), layer=layer))
    return tuple(found)
