"""Which parameters the grades do not tell at all: where no more is known of them than before."""

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
"""Share of the prior's standard deviation above which the grades do not tell a parameter."""

_USUAL = "its value is that of most filaments"


@dataclass(frozen=True, slots=True)
class ModelParameter:
    """One of the model's numbers in words; `instead` is what is taken, `way` what would tell it."""

    which: int
    what: str
    instead: str
    way: str


MODEL_PARAMETERS = (
    ModelParameter(SPEED, "speed correction", _USUAL, "mark and grade the next coupon"),
    ModelParameter(SPREAD, "spread", _USUAL, "mark a row-span coupon"),
    ModelParameter(DEPTH, "optical depth", _USUAL, "it hardly matters; a pitch coupon would tell"),
    ModelParameter(
        BEYOND,
        "index from which the surface melts",
        _USUAL,
        "keep to the even band; only hotter cells would tell",
    ),
    ModelParameter(
        NOISE,
        "steadiness of the judge",
        "it is that of most people",
        "let another person judge too",
    ),
    ModelParameter(
        SPIKE_SHARE,
        "share of the direct spike in what is seen",
        "it is taken to be small",
        "the intervals allow for it; a pitch coupon tells most, and a dozen cells seldom enough",
    ),
    ModelParameter(
        CURVATURE,
        "bend of power over speed",
        "one exponent is taken to hold for all speeds",
        "the intervals allow for it; stay near the speeds that were graded",
    ),
)


def unidentified_findings(fit: FilamentFit) -> Iterator[Finding]:
    """A note for each parameter that is known no better than before the grades."""
    sd = fit.posterior.sd()
    for one in MODEL_PARAMETERS:
        if sd[one.which] > _UNTOLD * PRIOR[one.which, 1]:
            yield note(
                "not-told",
                f"these grades do not tell the {one.what}: {one.instead}",
                _way(fit, one),
            )


def _way(fit: FilamentFit, one: ModelParameter) -> str:
    if one.which == SPEED and len(fit.sightings.speeds) == 1:
        return "mark cells at a second speed, half or twice as fast"
    return one.way
