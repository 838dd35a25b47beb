"""A fit, a profile, and two profiles compared, in words and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from preprocess.calibrate.fit.profile import reference_patch
from preprocess.findings import counted
from preprocess.model.bench.filament import Filament, Intervals
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.next_coupon.proposal import Proposal

ParameterRow = tuple[str, str, str]
_Ends = tuple[float, float]


class _Parameter(NamedTuple):
    """A fitted parameter in words, and the ends of its interval."""

    name: str
    value: str
    between: str = ""
    ends: _Ends | None = None

    def __str__(self) -> str:
        return f"{self.value} ({self.between})" if self.between else self.value


_NINETY = 1.645
"""Standard deviations to both sides that hold 90 of 100."""

_SAME = 0.15
"""Relative difference of two powers below which their marks look alike."""


def fit_summary(fit: FilamentFit, profile: Filament) -> str:
    """The even band at the reference speed, in two sentences."""
    reference, patch = reference_patch(fit)
    band = fit.band(patch)
    beam = fit.beam
    low, middle, high = (
        100 * beam.power(float(np.exp(end))) for end in fit.posterior.interval(band[:, 1])
    )
    weak, heavy = (
        100 * beam.power(float(np.exp(fit.posterior.interval(band[:, end])[1]))) for end in (0, 2)
    )
    counts = ", ".join(f"{count} {grade}" for grade, count in fit.observations.counts.items())
    return (
        f"{profile.name}: {len(fit.observations.all)} grades of {fit.observations.cells} cells "
        f"({counts}). "
        f"At {digits(reference.speed)} mm/s, pitch {digits(reference.pitch)} mm, a patch of 8 mm "
        f"is even from about {digits(weak, 3)} % to {digits(heavy, 3)} % power; the middle is "
        f"{digits(middle, 3)} % (between "
        f"{digits(low, 3)} % and {digits(high, 3)} % in 90 of 100 cases)."
    )


def tones_sentence(fit: FilamentFit) -> str:
    """What photos told, in a sentence; empty without photos."""
    photos = [one.name for trial in fit.trials if trial.tones for one in trial.tones.photos]
    if fit.tones is None or fit.tones.used is None:
        return ""
    count = len(fit.tones.model.places) - fit.tones.left_out
    middle, sd = fit.tones.mean[1], float(np.sqrt(fit.tones.covariance[1, 1]))
    low, high = (float(np.exp(middle + way * _NINETY * sd)) for way in (-1, 1))
    return (
        f"{counted(count, 'measured tone')} from {', '.join(photos)} put the spread between "
        f"{digits(low, 2)} and {digits(high, 2)} mm; the grades decide what is even."
    )


def parameter_rows(profile: Filament) -> list[ParameterRow]:
    """Name, value and interval of every fitted parameter, in words."""
    return [one[:3] for one in _parameters(profile)]


def _parameters(profile: Filament) -> Iterator[_Parameter]:
    sure, window = profile.intervals or Intervals(), profile.window
    if profile.reference is not None:
        yield _Parameter("reference power", f"{digits(100 * profile.reference.power)} %")
    for name, value, ends, unit in (
        ("weak below index", window.weak if window else None, sure.weak, ""),
        ("heavy above index", window.heavy if window else None, sure.heavy, ""),
        ("molten above index", window.molten if window else None, sure.molten, ""),
        ("speed correction", profile.speed_correction, sure.speed_correction, ""),
        ("spread", profile.spread, sure.spread, " mm"),
        ("optical depth", profile.optical_depth, sure.optical_depth, " mm"),
        ("bleed", profile.bleed, sure.bleed, " mm"),
    ):
        if value is not None:
            yield _Parameter(name, f"{digits(value)}{unit}", _ends(ends, unit), ends)


def proposal_text(offer: Proposal) -> str:
    """The proposed coupon and its expected gain."""
    *others, last = (f"{digits(length)} mm" for length in offer.asked.lengths)
    lengths = f"{', '.join(others)} and {last}" if others else last
    return (
        f"Next, mark a {offer.kind} coupon: these {len(offer.asked.layers)} layers in blades of "
        f"{lengths} ({offer.cells} cells; --next writes it). It should narrow the uncertainty of "
        f"the band from {100 * offer.before:.0f} % of the power to {100 * offer.after:.0f} %."
    )


def compare_profiles(
    one: Filament, other: Filament
) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """Two profiles side by side, and remarks."""
    mine, theirs = ({each.name: each for each in _parameters(profile)} for profile in (one, other))
    rows: list[tuple[str, ...]] = []
    for name in dict.fromkeys((*mine, *theirs)):
        unknown = _Parameter(name, "-")
        first, second = mine.get(name, unknown), theirs.get(name, unknown)
        rows.append((name, str(first), str(second), _verdict(first.ends, second.ends)))
    return rows, tuple(_remarks(one, other))


def _verdict(first: _Ends | None, second: _Ends | None) -> str:
    """Verdict on two intervals; empty where one is unknown."""
    if first is None or second is None:
        return ""
    return "differ" if first[1] < second[0] or second[1] < first[0] else "may be alike"


def _remarks(one: Filament, other: Filament) -> Iterator[str]:
    if one.machine != other.machine:
        yield (
            f"They were graded on different machines, {one.machine or 'unknown'} and "
            f"{other.machine or 'unknown'}: powers and speeds do not carry over."
        )
    elif one.polymer is not None and one.polymer == other.polymer:
        yield (
            f"Both are {one.polymer}, but another colour absorbs the laser differently: each spool "
            "needs its own coupon."
        )
    here, there = one.reference, other.reference
    if here is None or there is None:
        yield "One of them is uncalibrated: it has no reference patch."
    elif (here.speed, here.pitch) == (there.speed, there.pitch):
        ratio = there.power / here.power
        alike = abs(np.log(ratio)) < _SAME
        yield (
            f"At {digits(here.speed)} mm/s, {other.name} takes {ratio:.2f} times the power of "
            f"{one.name}" + (", which is about the same." if alike else ".")
        )
    else:
        yield "Their reference patches differ in speed or pitch: compare them with equivalents."


def _ends(ends: tuple[float, float] | None, unit: str = "") -> str:
    return "" if ends is None else f"{digits(ends[0])} to {digits(ends[1])}{unit}"
