"""What a person should know beside the figures: what the grades do not tell, and what disagrees."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.bleed import bleed_findings
from preprocess.calibrate.fit.marking_limit import marking_limit_findings
from preprocess.calibrate.fit.ordinal_model import (
    COUPON_DRIFT,
    DRIFT,
    GRADE_ORDER,
    NOISE,
    scaled_effect,
)
from preprocess.calibrate.fit.outliers import find_outliers
from preprocess.calibrate.fit.unidentified import unidentified_findings
from preprocess.coupon.design.model import CouponKind
from preprocess.findings import Finding, note, warn

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.fit.fit import FilamentFit


_SHAKY = 0.15
"""Noise of the judge (logarithm of heat) above which the grades are unsteady."""

_MISFIT = 0.05
"""Share of simulated grade tables that fit worse than the true one, below which it does not fit."""

MOVED, LIKELY = 0.1, 0.4
"""Share of the heat by which a judge has moved, and the probability from which on it is said."""

TABLES, SEED = 400, 11


def diagnose(fit: FilamentFit) -> tuple[Finding, ...]:
    """Everything to be said of a fit, what matters most first."""
    told = (
        *_misfit(fit),
        *_moved(fit),
        *_open_ends(fit),
        *_odd(fit),
        *unidentified_findings(fit),
        *marking_limit_findings(fit),
    )
    return (*told, *bleed_findings(fit.trials), *_passed(fit))


def _open_ends(fit: FilamentFit) -> Iterator[Finding]:
    counts = fit.sightings.counts
    above = counts["heavy"] + counts["molten"]
    for missing, end, way in (
        (not counts["weak"], "weak", "less power"),
        (not above, "heavy", "more power"),
    ):
        if missing:
            yield warn(
                "open-end",
                f"no cell is {end}, so that end of the band is a guess from other filaments",
                f"mark cells with {way}",
            )
    if not counts["even"]:
        yield warn(
            "no-even-cell",
            "no cell is even: the band lies between cells that are weak and cells that are heavy",
            "mark cells in between",
        )


def _odd(fit: FilamentFit) -> Iterator[Finding]:
    for number, expected in find_outliers(fit):
        one = fit.sightings.all[number]
        cell = one.cell
        yield note(
            "cell-disagrees",
            f"cell {cell.name} of {one.coupon} ({100 * cell.power:g} %, {cell.speed:g} mm/s) is "
            f"{GRADE_ORDER[one.grade]} where the others suggest {expected}",
            "look at it again; if it stays so, mark it again",
        )


def _misfit(fit: FilamentFit) -> Iterator[Finding]:
    noise = float(np.exp(fit.posterior.mean()[NOISE]))
    if noise > _SHAKY:
        yield warn(
            "grades-unsteady",
            f"cells of equal heat got different grades: the judge is off by {100 * noise:.0f} % of "
            "the heat, and the intervals are as wide as that makes them",
            "judge again in better light, or let a second person judge",
        )
    elif predictive_p_value(fit) < _MISFIT:
        yield warn(
            "does-not-fit",
            "the grades do not follow the heat as this model computes it: char, foam or a judge "
            "who drifted may be why",
            "trust the band only near cells that were graded even",
        )


def _moved(fit: FilamentFit) -> Iterator[Finding]:
    """A judge who grew stricter or milder: along each table, or from coupon to coupon."""
    values, weights = fit.posterior.values, fit.posterior.weights
    for which, along, way in (
        (DRIFT, "from the first row of the table to the last", "judge the plate again, rested"),
        (COUPON_DRIFT, "from the first coupon to the last", "judge all plates again, side by side"),
    ):
        by = scaled_effect(values, which)
        if float(weights @ (np.abs(by) > MOVED)) >= LIKELY:
            size = 100 * abs(float(weights @ by))
            yield warn(
                "judge-drifts",
                f"the grades seem to have moved {along}, by about {size:.0f} % of the heat; the "
                "intervals are as wide as that makes them",
                f"{way}, in the light in which the part will be seen",
            )


def predictive_p_value(fit: FilamentFit) -> float:
    """Share of tables drawn from the fit itself that are less likely than the true one."""
    random = np.random.default_rng(SEED)
    values = fit.posterior.mean()[None]
    every = fit.seen.grade_probabilities(values)[0]
    true = float(np.log(every[np.arange(len(every)), fit.seen.grade]).sum())
    sums = np.cumsum(every, axis=1)
    drawn = (random.random((TABLES, len(every), 1)) > sums[None, :, :-1]).sum(axis=2)
    logs = np.log(np.take_along_axis(every[None], drawn[:, :, None], axis=2))[:, :, 0].sum(axis=1)
    return float(np.mean(logs <= true))


def _passed(fit: FilamentFit) -> Iterator[Finding]:
    gauges = {t.coupon for t in fit.trials if t.definition.kind is CouponKind.SPOT_BLEED}
    for coupon in fit.sightings.passed_by:
        if coupon in gauges:
            continue
        yield note(
            "not-by-heat", f"{coupon} is kept in the profile, but its grades do not tell of heat"
        )
