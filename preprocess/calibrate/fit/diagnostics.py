"""Findings of a fit: parameters that grades do not identify, outliers, drift and misfit."""

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
from preprocess.calibrate.tones.tone_findings import tone_findings
from preprocess.coupon.design.model import CouponKind
from preprocess.findings import Finding, note, warn
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.fit.fit import FilamentFit


_SHAKY = 0.15
"""Noise of the judge (logarithm of heat) above which grades are unsteady."""

_MISFIT = 0.05
"""Posterior predictive p-value below which the model does not fit."""

_DRIFT, _LIKELY = 0.1, 0.4
"""Drift as a share of the heat, and the probability from which it is reported."""

_TABLES, _SEED = 400, 11


def diagnose(fit: FilamentFit) -> tuple[Finding, ...]:
    """All findings of a fit, the most important first."""
    return (
        *_misfit(fit),
        *tone_findings(fit.tones, measured=any(trial.tones for trial in fit.trials)),
        *_drift(fit),
        *_open_ends(fit),
        *_odd(fit),
        *unidentified_findings(fit),
        *marking_limit_findings(fit),
        *bleed_findings(fit.trials),
        *_without_heat(fit),
    )


def _open_ends(fit: FilamentFit) -> Iterator[Finding]:
    counts = fit.observations.counts
    above = counts["heavy"] + counts["molten"]
    for missing, end, way in (
        (not counts["weak"], "weak", "less power"),
        (not above, "heavy", "more power"),
    ):
        if missing:
            yield warn(
                "open-end",
                f"no cell is {end}: that end of the band is assumed from other filaments",
                f"mark cells with {way}",
            )
    if not counts["even"]:
        yield warn(
            "no-even-cell",
            "no cell is even: the band is interpolated between weak and heavy cells",
            "mark cells in between",
        )


def _odd(fit: FilamentFit) -> Iterator[Finding]:
    for number, expected in find_outliers(fit):
        one = fit.observations.all[number]
        cell = one.cell
        yield note(
            "cell-disagrees",
            f"cell {cell.name} of {one.coupon} ({digits(100 * cell.power)} %, {digits(cell.speed)} "
            f"mm/s) is {GRADE_ORDER[one.grade]}, but the others suggest {expected}",
            "look at it again; if the grade stays, mark it again",
        )


def _misfit(fit: FilamentFit) -> Iterator[Finding]:
    noise = float(np.exp(fit.posterior.mean()[NOISE]))
    if noise > _SHAKY:
        yield warn(
            "grades-unsteady",
            f"cells of equal heat got different grades: the judge's noise is {100 * noise:.0f} % "
            "of the heat, which widens the intervals",
            "judge again in better light, or let a second person judge",
        )
    elif predictive_p_value(fit) < _MISFIT:
        yield warn(
            "does-not-fit",
            "the grades do not follow the predicted heat, perhaps by char, foam or a judge's drift",
            "trust the band only near cells that were graded even",
        )


def _drift(fit: FilamentFit) -> Iterator[Finding]:
    """Drift of the judge along each table, or from coupon to coupon."""
    values, weights = fit.posterior.values, fit.posterior.weights
    for which, along, way in (
        (DRIFT, "from the first row of the table to the last", "judge the plate again, rested"),
        (COUPON_DRIFT, "from the first coupon to the last", "judge all plates again, side by side"),
    ):
        by = scaled_effect(values, which)
        if float(weights @ (np.abs(by) > _DRIFT)) >= _LIKELY:
            size = 100 * abs(float(weights @ by))
            yield warn(
                "judge-drifts",
                f"the judge drifted {along}, by about {size:.0f} % of the heat, which widens the "
                "intervals",
                f"{way}, in the light in which the part will be seen",
            )


def predictive_p_value(fit: FilamentFit) -> float:
    """Posterior predictive p-value: share of simulated tables less likely than the true one."""
    random = np.random.default_rng(_SEED)
    values = fit.posterior.mean()[None]
    every = fit.model.grade_probabilities(values)[0]
    true = float(np.log(every[np.arange(len(every)), fit.model.grade]).sum())
    sums = np.cumsum(every, axis=1)
    drawn = (random.random((_TABLES, len(every), 1)) > sums[None, :, :-1]).sum(axis=2)
    logs = np.log(np.take_along_axis(every[None], drawn[:, :, None], axis=2))[:, :, 0].sum(axis=1)
    return float(np.mean(logs <= true))


def _without_heat(fit: FilamentFit) -> Iterator[Finding]:
    gauges = {
        t.coupon
        for t in fit.trials
        if t.definition.kind is CouponKind.SPOT_BLEED or t.tones is not None
    }
    for coupon in fit.observations.without_heat:
        if coupon not in gauges:
            yield note("not-by-heat", f"{coupon} is kept in the profile, but is not graded by heat")
