"""The heat of a measured map: whether it is a cause, and how much a tone changes with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.tones.tone_fit import FEWEST
from preprocess.calibrate.tones.toned_places import toned_places
from preprocess.causes.causes import causes_of
from preprocess.causes.found import HEAT
from preprocess.correction.learned_spread import ToneSlope
from preprocess.correction.slope import slope_of_coupons, slope_of_map
from preprocess.errors import Refusal
from preprocess.findings import Finding, note

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.causes.found import Causes
    from preprocess.model.bench.bench import Bench
    from preprocess.photo.measured import MeasuredJob

_USUAL_SLOPE, _SURE_SLOPE = ToneSlope(value=1.6, sd=0.5), 0.15
"""Slope over the tone itself, by curves of the width that the fit of tones takes for usual; and how
far one that coupons told may be off, as a share."""


def measured_heat(
    job: MeasuredJob, bench: Bench, trials: Sequence[CouponTrial]
) -> tuple[Causes, float, list[Finding]]:
    """Causes of the unevenness, ΔL* for each e-fold of heat, and what to say of that slope.

    Raises:
        Refusal: heat is no cause, or the tone turns back where it is hot.
    """
    causes = causes_of(job)
    if HEAT not in causes.parts:
        raise Refusal(
            f"heat is no cause of this unevenness, so other powers would not mend it. "
            f"{causes.sentences[0]}",
            "look for that cause first",
        )
    return causes, *_slope(job, causes, bench, trials)


def tone_slope(job: MeasuredJob, slope: float, guessed: Sequence[Finding]) -> ToneSlope:
    """How sure a slope is: one that the map itself told is only known by its sign."""
    if not guessed:
        return ToneSlope(value=slope, sd=_SURE_SLOPE)
    tone = abs(float(np.nanmedian(job.tone)))
    return ToneSlope(value=float(np.sign(slope)) * _USUAL_SLOPE.value * tone, sd=_USUAL_SLOPE.sd)


def _slope(
    job: MeasuredJob, causes: Causes, bench: Bench, trials: Sequence[CouponTrial]
) -> tuple[float, list[Finding]]:
    """ΔL* for each e-fold of heat, and what to say of it."""
    found = slope_of_map(job, causes.heat)
    if not found:
        raise Refusal(
            "the tone does not follow the predicted heat", "look at the maps of evenmark measure"
        )
    places = toned_places(trials, bench.filament) if bench.filament and trials else None
    if places is not None and len(places) >= FEWEST:
        known = slope_of_coupons(places, float(np.nanmedian(job.tone)))
        if known is not None and known * found < 0:
            raise Refusal(
                "the mark grows weaker where it is hot, but stronger with heat on the coupons, as "
                "where plastic chars or foams",
                "mark with less power throughout, and measure anew",
            )
        if known is not None:
            return known, []
    guessed = note(
        "slope-from-map",
        "how much the tone changes with heat is taken from this one part: no coupon was measured",
        "photograph a blades coupon of this spool, and fit it",
    )
    return found, [guessed]
