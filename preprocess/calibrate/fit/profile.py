"""The filament's profile from a fit: reference patch, window, parameters with their intervals."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.calibrate.fit.bleed import bleed_interval
from preprocess.calibrate.fit.graded_range import graded_range
from preprocess.calibrate.fit.ordinal_model import DEPTH, SPEED, SPREAD, thresholds
from preprocess.calibrate.grades.own_rows import own_rows_reference
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.coupon.design.definition import non_default_fields
from preprocess.coupon.design.model import CouponKind
from preprocess.loading.schema.plain_data import plain_data
from preprocess.loading.yaml.yaml_text import yaml_text
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.filament import Filament, Intervals, Reference, Window

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.grades.trials import CouponTrial


_DIGITS = 3
"""Significant digits of written figures."""


def fitted_profile(fit: FilamentFit) -> Filament:
    """The profile without its trials."""
    values = fit.posterior.mean()[None]
    reference, patch = reference_patch(fit)
    at = np.log(fit.beam.light(reference.power)) + fit.heat(patch, values)
    weak, heavy, molten = np.exp(thresholds(values)[0] - at)
    bleed = bleed_interval(fit.trials)
    gauged = any(t.definition.kind is CouponKind.SPOT_BLEED for t in fit.trials)
    return replace(
        fit.known,
        machine=fit.known.machine or (fit.machine.name if fit.machine else None),
        optical_depth=_rounded(np.exp(values[0, DEPTH])),
        spread=_rounded(np.exp(values[0, SPREAD])),
        speed_correction=round(float(values[0, SPEED]), _DIGITS),
        bleed=_rounded(sum(bleed) / 2) if bleed else None if gauged else fit.known.bleed,
        reference=reference,
        own_rows=own_rows_reference(fit.trials) or fit.known.own_rows,
        window=Window(weak=_rounded(weak), heavy=_rounded(heavy), molten=_rounded(molten)),
        intervals=_intervals(fit, reference, patch, bleed),
        tried=graded_range(fit),
    )


def reference_patch(fit: FilamentFit) -> tuple[Reference, HeatPatch]:
    """The middle of the even band, at the graded speed nearest the middle one."""
    steps = fit.bench.machine_or_default.power
    cells = [one.cell for one in fit.observations.all]
    pitch = _usual([cell.pitch for cell in cells])
    two_way = Counter(cell.two_way for cell in cells).most_common(1)[0][0]
    size = Reference().size
    middle = fit.observations.middle
    values = fit.posterior.mean()[None]
    found = []
    nearest = sorted(fit.observations.speeds, key=lambda v: (abs(np.log(v / middle)), v))
    for speed in nearest:
        patch = HeatPatch(size=size, speed=speed, pitch=pitch, two_way=two_way)
        power = fit.beam.power(float(np.exp(fit.band(patch, values)[0, 1])))
        reference = Reference(
            size=size,
            power=steps.nearest(power) or steps.step,
            speed=speed,
            pitch=pitch,
            direction=Direction.TWO_WAY if two_way else Direction.ONE_WAY,
        )
        found.append((power <= steps.to, reference, patch))
    _, reference, patch = next((one for one in found if one[0]), found[0])
    return reference, patch


def _usual(pitches: Sequence[float]) -> float:
    """The most frequent pitch; of several, the one nearest the median."""
    counts, middle = Counter(pitches), float(np.median(pitches))
    return min(counts, key=lambda pitch: (-counts[pitch], abs(np.log(pitch / middle)), pitch))


def _intervals(
    fit: FilamentFit, reference: Reference, patch: HeatPatch, bleed: tuple[float, float] | None
) -> Intervals:
    values = fit.posterior.values
    at = np.log(fit.beam.light(reference.power)) + fit.heat(patch)

    def ends(of: Floats) -> tuple[float, float]:
        low, _, high = fit.posterior.interval(of)
        return _rounded(low), _rounded(high)

    weak, heavy, molten = np.exp(thresholds(values) - at[:, None]).T
    return Intervals(
        optical_depth=ends(np.exp(values[:, DEPTH])),
        spread=ends(np.exp(values[:, SPREAD])),
        speed_correction=ends(values[:, SPEED]),
        bleed=bleed,
        weak=ends(weak),
        heavy=ends(heavy),
        molten=ends(molten),
    )


def profile_bytes(profile: Filament, trials: Sequence[CouponTrial]) -> bytes:
    """The profile's file; each trial has one line, so that files can be merged."""
    data: dict[str, Any] = plain_data(replace(profile, trials=()))
    data["trials"] = [
        {**plain_data(trial), "definition": non_default_fields(trial.definition)}
        for trial in trials
    ]
    head = (
        "# A material profile, written by evenmark fit. Intervals hold the true value in 90 of\n"
        "# 100 cases if the filament is like the model. Nothing here is promised to be safe.\n"
    )
    return (head + yaml_text(data)).encode()


def _rounded(value: float) -> float:
    return float(f"{float(value):.{_DIGITS}g}")
