"""The next coupon: settings whose grades are expected to narrow most what is unknown.

That is the even band at the speeds in use, and how heat piles up in short rows. A power-speed
coupon and a row-span coupon are both thought through; the one that leaves less unknown is offered.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.profile import reference_of
from preprocess.calibrate.heat.patch_heat import Patch
from preprocess.calibrate.next_coupon.expected_variance import Candidate, choose, particles
from preprocess.coupon.artwork.patterns import HEIGHT
from preprocess.coupon.design.build import build, define
from preprocess.coupon.design.defaults import LENGTHS, Asked
from preprocess.coupon.design.model import Kind
from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.part import Part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.fit import Fit
    from preprocess.coupon.design.model import CouponDefinition


_SPANS = {Kind.POWER_SPEED: (8.0, 2.0), Kind.ROW_SPAN: LENGTHS[Kind.ROW_SPAN]}
"""Cells of each setting, mm wide: two at least, so that heat that piles up shows."""

_CELLS = 12
_FINEST = {Kind.POWER_SPEED: 0.06, Kind.ROW_SPAN: 0.18}
"""Least step between two powers, as a logarithm: finer ones look alike."""

_ROOM = 2.5
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


def proposal(fit: Fit) -> Proposal:
    """Choose kind and settings of the next coupon; a kind that fits on the last plate."""
    offers = [_offer(fit, kind) for kind in _SPANS]
    fitting = [offer for offer in offers if _fits(fit, offer)] or offers[:1]
    return min(fitting, key=lambda offer: offer.after)


def _offer(fit: Fit, kind: Kind) -> Proposal:
    """The settings of a kind that tell most, as many as make a dozen cells."""
    reference, patch = reference_of(fit)
    values = particles(fit.posterior)
    choice = choose(
        values,
        _wanted(fit, patch, values),
        list(_candidates(fit, patch, values, kind)),
        _CELLS // len(_SPANS[kind]),
    )
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
    return Proposal(kind, Asked(layers=layers, lengths=_SPANS[kind]), choice.before, choice.after)


def _fits(fit: Fit, offer: Proposal) -> bool:
    try:
        build(next_definition(fit, offer))
    except Refusal:
        return False
    return True


def _wanted(fit: Fit, patch: Patch, values: Floats) -> Floats:
    """The band's ends and middle at the graded speeds' ends and middle, and how heat piles up."""
    speeds = sorted({fit.sightings.speeds[0], patch.speed, fit.sightings.speeds[-1]})
    bands = [fit.band(_at(patch, speed), values)[:, :3] for speed in speeds]
    spans = LENGTHS[Kind.ROW_SPAN]
    wide, short = (fit.heat(_at(patch, patch.speed, one), values) for one in (spans[0], spans[-1]))
    return np.concatenate([*bands, (short - wide)[:, None]], axis=1)


def _candidates(fit: Fit, patch: Patch, values: Floats, kind: Kind) -> Iterator[Candidate]:
    speeds = (patch.speed,) if kind is Kind.ROW_SPAN else _speeds(fit)
    for speed in speeds:
        heat = [fit.heat(_at(patch, speed, span, HEIGHT), values) for span in _SPANS[kind]]
        for power in _powers(fit, _FINEST[kind]):
            yield Candidate(power, speed, np.stack(heat, axis=1) + np.log(power))


def _speeds(fit: Fit) -> tuple[float, ...]:
    """Graded speeds; a second one where there was but one."""
    known, steps = fit.sightings.speeds, fit.bench.machine_or_default.speed
    if len(known) > 1:
        return known
    other = known[0] / 2 if known[0] / 2 >= steps.from_ else 2 * known[0]
    return tuple(sorted((known[0], other)))


def _powers(fit: Fit, finest: float) -> tuple[float, ...]:
    """Powers that the machine can be set to, not too fine, around those that were marked."""
    steps = fit.bench.machine_or_default.power
    marked = [one.cell.power for one in fit.sightings.all]
    low = max(min(marked) / _ROOM, steps.from_, steps.step)
    high = min(max(marked) * _ROOM, steps.to)
    ladder = np.exp(np.arange(np.log(low), np.log(high) + finest, finest))
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
    bench = replace(fit.bench, parts=(thick,))
    scored = {Operation.SCORE: last.labels}
    asked = replace(offer.asked, room=last.room)
    return define(offer.kind, bench, plate=last.plate, settings=scored, asked=asked)
