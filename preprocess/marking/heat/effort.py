"""Effort of the heat prediction: set by counts known beforehand, never by a clock."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from preprocess.marking.solver.exposures import lit_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.job.plan import Plan
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.thermal_medium import ThermalMedium


class Effort(StrEnum):
    """In full; within a bound, for a command that does something else; or a quick look."""

    FULL = "full"
    BOUNDED = "bounded"
    PREVIEW = "preview"


_FINE = 3.0
"""Columns per smoothing length; neighbouring points of a row differ little over less."""

_STEPS = 0.05, 0.15
"""Least and greatest width of a column, mm."""

_COARSE = 4
"""Factor on the width of columns in a preview."""

LARGE = 3e6
"""Lit cells above which columns are made wider, so that a large job takes no more time for it."""

_WIDER = 2.0
"""Largest factor on the width of columns; the index differs by less than 2 % then."""

LARGE_PREVIEW, WIDER_PREVIEW = 5e4, 5.0
"""The same for a preview, which is to take half a second."""

BOUND = 2e5
"""Lit cells of a bounded job: about 2.4 s of a busy core, a sixth of it to judge evenness.

A command computes two such, for the drawing and for its output.
"""

_DARK = 0.2
"""Cost of a dark cell among lit ones, in lit cells: its light is prepared, but never marched."""

GROUPS = 300
"""Groups swept one after another that a bounded job solves; each costs about 1300 lit cells."""


@dataclass(frozen=True, slots=True)
class Grain:
    """Width of columns (mm), and that of every so many groups of a layer one is solved."""

    step: float
    every: int = 1


def column_step(medium: ThermalMedium) -> float:
    """Width of columns for a smoothing length, mm."""
    return min(max(medium.spread / _FINE, _STEPS[0]), _STEPS[1])


def grain_of(bodies: Sequence[Sequence[Exposure]], step: float, effort: Effort) -> list[Grain]:
    """The grain for the exposures of each body, given the width of columns that is wanted (mm)."""
    if effort is Effort.BOUNDED:
        groups = sum(len(exposures) for exposures in bodies)
        every = max(1, -(-groups // GROUPS))
        cells = sum(_work(exposures) for exposures in bodies) / every / step
        return [Grain(step * max(cells / BOUND, 1.0), every)] * len(bodies)
    if effort is Effort.PREVIEW:
        every = max(1, -(-sum(len(exposures) for exposures in bodies) // GROUPS))
        return [
            Grain(_affordable(body, _COARSE * step, LARGE_PREVIEW, WIDER_PREVIEW), every)
            for body in bodies
        ]
    return [Grain(_affordable(body, step, LARGE, _WIDER)) for body in bodies]


def _affordable(exposures: Sequence[Exposure], step: float, large: float, wider: float) -> float:
    """Columns as wide as wanted, or wider where there would be too many lit cells."""
    cells = sum(lit_length(exposure) for exposure in exposures) / step
    return step * min(max(cells / large, 1.0), wider)


def _work(exposures: Sequence[Exposure]) -> float:
    """Lit length, and what is dark between it as far as it costs, mm."""
    swept = (len(e.y) * float(e.end.max() - e.start.min()) for e in exposures)
    return sum(
        (1 - _DARK) * lit_length(e) + _DARK * s for e, s in zip(exposures, swept, strict=True)
    )


def chosen_steps(plan: Plan, every: int) -> dict[int, float]:
    """Steps of the plan that are solved, each with how many of its layer it stands for."""
    found: dict[int, float] = {}
    by_output: dict[str, list[int]] = {}
    for number, step in enumerate(plan.steps):
        by_output.setdefault(step.output.id, []).append(number)
    for steps in by_output.values():
        some = steps[::every]
        found |= dict.fromkeys(some, len(steps) / len(some))
    return found
