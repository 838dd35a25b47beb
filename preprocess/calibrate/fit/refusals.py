"""Refusals of grades that identify nothing, with what to mark instead."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER
from preprocess.errors import UserError, wrong
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.calibrate.fit.observations import Observation, Observations
    from preprocess.calibrate.fit.ordinal_model import OrdinalRegression
    from preprocess.calibrate.fit.posterior import Posterior

_FEWEST = 4
"""Least number of graded cells."""

_BETTER = 1.5
"""Least gain in log likelihood of heat over the mere frequency of each grade."""

_FURTHER = 1.5
"""Factor beyond powers that all have one grade."""


def refuse_uninformative(observed: Observations) -> None:
    """Refuse grades that say nothing about heat.

    Raises:
        UserError: no grades, too few cells, or all cells alike.
    """
    if not observed.all:
        passed = ", ".join(observed.without_heat)
        found = (
            f"no coupon is graded by heat ({passed} is graded by edges)"
            if passed
            else ("no cell is graded")
        )
        raise wrong(found, "grade the cells of a power-speed coupon")
    if observed.cells < _FEWEST:
        cells = "one cell is" if observed.cells == 1 else f"{observed.cells} cells are"
        raise wrong(
            f"only {cells} graded: too few to fit",
            f"grade at least {_FEWEST} cells, of which some are even and some are not",
        )
    given = [grade for grade, count in observed.counts.items() if count]
    if len(given) == 1:
        raise _alike(observed, given[0])


def _alike(observed: Observations, grade: str) -> UserError:
    powers = [one.cell.power for one in observed.all]
    less, more = 100 * min(powers) / _FURTHER, min(100 * max(powers) * _FURTHER, 100.0)
    below, above = f"below about {digits(less, 2)} %", f"above about {digits(more, 3)} %"
    remedy = {
        "weak": f"mark powers {above}, or slower",
        "even": f"mark some powers {below} and some {above}, so that its ends show",
    }.get(grade, f"mark powers {below}, or faster")
    what = "where even ends" if grade == "even" else "where even is"
    found = f"all {observed.cells} graded cells are {grade}, so the grades do not tell {what}"
    return wrong(found, remedy)


def refuse_contradictory(
    observations: Observations, model: OrdinalRegression, posterior: Posterior
) -> None:
    """Refuse grades that heat explains no better than chance does.

    Raises:
        UserError: they contradict one another; the sentence names two such cells.
    """
    by_heat = float(model.likelihood(posterior.best[None])[0])
    shares = np.bincount(model.grade, minlength=len(GRADE_ORDER)) / len(model.grade)
    by_chance = float(np.log(shares[model.grade]).sum())
    if by_heat - by_chance >= _BETTER:
        return
    pair = _contradiction(observations, model, posterior)
    raise wrong(
        "the grades contradict one another: hotter cells have no heavier grades"
        + (f" ({', but '.join(map(_cell_text, pair))})" if pair else ""),
        "check whether rows of the table were mixed up, or grade the cells again",
    )


def _cell_text(one: Observation) -> str:
    cell = one.cell
    return (
        f"{cell.name} at {digits(100 * cell.power)} %, {digits(cell.speed)} mm/s is "
        f"{GRADE_ORDER[one.grade]}"
    )


def _contradiction(
    observations: Observations, model: OrdinalRegression, posterior: Posterior
) -> list[Observation]:
    """The hotter and the cooler cell whose grades contradict their heat most; empty without."""
    heat = model.heat(posterior.best[None])[0]
    against = np.subtract.outer(heat, heat) * np.subtract.outer(model.grade, model.grade)
    pair = np.unravel_index(np.argmin(against), against.shape)
    if against[pair] >= 0:
        return []
    return [observations.all[n] for n in sorted(pair, key=lambda n: -heat[n])]
