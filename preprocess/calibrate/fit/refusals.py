"""Grades that tell nothing: said in a sentence, with what to mark instead, never as a number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER
from preprocess.errors import UserError, wrong

if TYPE_CHECKING:
    from preprocess.calibrate.fit.observations import Observation, Observations
    from preprocess.calibrate.fit.ordinal_model import OrdinalRegression
    from preprocess.calibrate.fit.posterior import Posterior

_FEWEST = 4
"""Cells below which nothing is fitted."""

_BETTER = 1.5
"""How much likelier (logarithm) grades must be by heat than by how often each was given."""

_FURTHER = 1.5
"""Factor by which to go beyond powers that all look alike."""


def refuse_uninformative(sightings: Observations) -> None:
    """Refuse grades from which no heat can be learnt.

    Raises:
        UserError: no grades, too few cells, or all cells alike.
    """
    if not sightings.all:
        passed = ", ".join(sightings.passed_by)
        found = (
            f"no grade tells of heat ({passed} is not judged by heat)"
            if passed
            else ("no cell is graded")
        )
        raise wrong(found, "grade the cells of a power-speed coupon")
    if sightings.cells < _FEWEST:
        cells = "one cell is" if sightings.cells == 1 else f"{sightings.cells} cells are"
        raise wrong(
            f"only {cells} graded, from which nothing can be fitted",
            f"grade at least {_FEWEST} cells, of which some are even and some are not",
        )
    given = [grade for grade, count in sightings.counts.items() if count]
    if len(given) == 1:
        raise _alike(sightings, given[0])


def _alike(sightings: Observations, grade: str) -> UserError:
    powers = [one.cell.power for one in sightings.all]
    less, more = 100 * min(powers) / _FURTHER, min(100 * max(powers) * _FURTHER, 100.0)
    below, above = f"below about {less:.2g} %", f"above about {more:.3g} %"
    remedy = {
        "weak": f"mark powers {above}, or slower",
        "even": f"mark some powers {below} and some {above}, so that its ends show",
    }.get(grade, f"mark powers {below}, or faster")
    what = "where even ends" if grade == "even" else "where even is"
    found = f"all {sightings.cells} graded cells are {grade}, so the grades do not tell {what}"
    return wrong(found, remedy)


def refuse_contradictory(
    sightings: Observations, seen: OrdinalRegression, posterior: Posterior
) -> None:
    """Refuse grades that heat explains no better than chance does.

    Raises:
        UserError: they contradict one another; the sentence names two cells that do.
    """
    by_heat = float(seen.likelihood(posterior.best[None])[0])
    shares = np.bincount(seen.grade, minlength=len(GRADE_ORDER)) / len(seen.grade)
    by_chance = float(np.log(shares[seen.grade]).sum())
    if by_heat - by_chance >= _BETTER:
        return
    hotter, cooler = _reversed(sightings, seen, posterior)
    raise wrong(
        "the grades contradict one another: more heat is not graded heavier"
        + ("" if hotter is None or cooler is None else f" ({_told(hotter)}, but {_told(cooler)})"),
        "see whether rows of the table were mixed up, or judge the cells again",
    )


def _told(one: Observation) -> str:
    cell = one.cell
    return f"{cell.name} at {100 * cell.power:g} %, {cell.speed:g} mm/s is {GRADE_ORDER[one.grade]}"


def _reversed(
    sightings: Observations, seen: OrdinalRegression, posterior: Posterior
) -> tuple[Observation | None, Observation | None]:
    """The pair of cells of which the hotter one has the lighter grade by the most."""
    heat = seen.heat(posterior.best[None])[0]
    against = np.subtract.outer(heat, heat) * np.subtract.outer(seen.grade, seen.grade)
    hot, cool = np.unravel_index(np.argmin(against), against.shape)
    if against[hot, cool] >= 0:
        return None, None
    if heat[hot] < heat[cool]:
        hot, cool = cool, hot
    return sightings.all[hot], sightings.all[cool]
