"""The next coupon: settings whose grades are expected to narrow the even band most."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.build import define
from preprocess.coupon.defaults import Asked
from preprocess.coupon.fit_next import Candidate, choose, particles
from preprocess.coupon.fit_patch import Patch
from preprocess.coupon.fit_profile import reference_of
from preprocess.coupon.model import Kind
from preprocess.coupon.patterns import HEIGHT
from preprocess.model.bench import Bench
from preprocess.model.machine import Machine
from preprocess.model.part import Part
from preprocess.model.settings import Operation, Settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from preprocess.coupon.fit import Fit
    from preprocess.coupon.model import CouponDefinition

    Floats = NDArray[np.float64]

SPANS = 8.0, 2.0
"""Cells of each setting, mm wide: two, so that heat that piles up shows."""

SETTINGS = 6
FINEST = 0.06
"""Least step between two powers, as a logarithm: finer ones look alike."""

ROOM = 2.5
"""Powers are looked for up to this factor beyond what was marked."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What to mark next; uncertainties are standard deviations of the band, as factors."""

    kind: Kind
    asked: Asked
    before: float
    after: float

    @property
    def cells(self) -> int:
        """How many cells it has."""
        return len(self.asked.layers) * len(self.asked.lengths)


def proposal(fit: Fit, settings: int = SETTINGS) -> Proposal:
    """Choose the settings of the next power-speed coupon."""
    reference, patch = reference_of(fit)
    values = particles(fit.posterior)
    wanted = _wanted(fit, patch, values)
    choice = choose(values, wanted, list(_candidates(fit, patch, values)), settings)
    layers = tuple(
        Settings(
            power=one.power,
            speed=one.speed,
            pitch=reference.pitch,
            direction=reference.direction,
            angle=0.0,
            repeats=1,
        )
        for one in sorted(choice.candidates, key=lambda one: (one.speed, one.power))
    )
    return Proposal(
        Kind.POWER_SPEED, Asked(layers=layers, lengths=SPANS), choice.before, choice.after
    )


def _wanted(fit: Fit, patch: Patch, values: Floats) -> Floats:
    """The band's ends and middle at the graded speeds' ends and middle, and how heat piles up."""
    speeds = sorted({fit.sightings.speeds[0], patch.speed, fit.sightings.speeds[-1]})
    bands = [fit.band(_at(patch, speed), values)[:, :3] for speed in speeds]
    short = fit.heat(_at(patch, patch.speed, SPANS[-1]), values)
    return np.concatenate([*bands, (short - fit.heat(patch, values))[:, None]], axis=1)


def _candidates(fit: Fit, patch: Patch, values: Floats) -> Iterator[Candidate]:
    for speed in _speeds(fit):
        heat = [fit.heat(_at(patch, speed, span, HEIGHT), values) for span in SPANS]
        for power in _powers(fit):
            yield Candidate(power, speed, np.stack(heat, axis=1) + np.log(power))


def _speeds(fit: Fit) -> tuple[float, ...]:
    """Graded speeds; a second one where there was but one."""
    known, steps = fit.sightings.speeds, (fit.machine or Machine()).speed
    if len(known) > 1:
        return known
    other = known[0] / 2 if known[0] / 2 >= steps.from_ else 2 * known[0]
    return tuple(sorted((known[0], other)))


def _powers(fit: Fit) -> tuple[float, ...]:
    """Powers that the machine can be set to, not too fine, around those that were marked."""
    steps = (fit.machine or Machine()).power
    marked = [one.cell.power for one in fit.sightings.all]
    low = max(min(marked) / ROOM, steps.from_, steps.step)
    high = min(max(marked) * ROOM, steps.to)
    ladder = np.exp(np.arange(np.log(low), np.log(high) + FINEST, FINEST))
    settable = np.round(np.minimum(ladder, high) / steps.step) * steps.step
    return tuple(float(f"{power:.6g}") for power in np.unique(settable) if power > 0)


def _at(
    patch: Patch, speed: float, span: float | None = None, height: float | None = None
) -> Patch:
    size = (span or patch.size[0], height or patch.size[1])
    return Patch(size=size, speed=speed, pitch=patch.pitch, two_way=patch.two_way)


def next_definition(fit: Fit, offer: Proposal) -> CouponDefinition:
    """The coupon to mark next, on a plate like the last one.

    Raises:
        Refusal: it does not fit there.
    """
    last = fit.trials[-1].definition
    thick = Part(outline=last.plate, thickness=last.thickness)
    bench = Bench(machine=fit.machine, filament=fit.known, parts=(thick,))
    scored = {Operation.SCORE: last.labels}
    asked = replace(offer.asked, room=last.room)
    return define(offer.kind, bench, plate=last.plate, settings=scored, asked=asked)
