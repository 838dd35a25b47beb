"""Identifiability: parameters whose posterior is hardly narrower than their prior."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.calibrate.fit.ordinal_model import (
    BEYOND,
    CURVATURE,
    DEPTH,
    NOISE,
    PRIOR,
    SPEED,
    SPIKE_SHARE,
    SPREAD,
)
from preprocess.findings import Finding, note

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.fit.fit import FilamentFit

_UNTOLD = 0.75
"""Share of the prior's standard deviation above which a parameter counts as unidentified."""

_USUAL = "the usual value is assumed"


@dataclass(frozen=True, slots=True)
class ModelParameter:
    """A parameter in words; `instead` is the assumption, `way` the remedy."""

    which: int
    what: str
    instead: str
    way: str


MODEL_PARAMETERS = (
    ModelParameter(SPEED, "speed correction", _USUAL, "mark and grade the next coupon"),
    ModelParameter(SPREAD, "spread", _USUAL, "mark a row-span coupon"),
    ModelParameter(DEPTH, "optical depth", _USUAL, "it hardly matters; a pitch coupon would tell"),
    ModelParameter(BEYOND, "melting index", _USUAL, "stay in the even band; mark hotter cells"),
    ModelParameter(NOISE, "noise of the judge", _USUAL, "let another person judge too"),
    ModelParameter(
        SPIKE_SHARE,
        "weight of the direct heat under the beam",
        "a small one is assumed",
        "the intervals allow for it; a pitch coupon helps most",
    ),
    ModelParameter(
        CURVATURE,
        "curvature of power over speed",
        "one exponent is assumed for all speeds",
        "the intervals allow for it; stay near the graded speeds",
    ),
)


def unidentified_findings(fit: FilamentFit) -> Iterator[Finding]:
    """A note for each parameter that the grades do not identify."""
    sd = fit.posterior.sd()
    for one in MODEL_PARAMETERS:
        if sd[one.which] > _UNTOLD * PRIOR[one.which, 1]:
            message = f"these grades do not tell the {one.what}: {one.instead}"
            yield note("not-told", message, _way(fit, one))


def _way(fit: FilamentFit, one: ModelParameter) -> str:
    if one.which == SPEED and len(fit.observations.speeds) == 1:
        return "mark cells at a second speed, half or twice as fast"
    return one.way
