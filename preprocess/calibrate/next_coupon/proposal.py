"""The next coupon: settings whose grades are expected to narrow most what is unknown.

That is the even band at the speeds in use, and how heat piles up in short rows. A power-speed
coupon and a row-span coupon are both thought through; the one that leaves less unknown is offered.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.next_coupon.expected_variance import Candidate, choose_design, resample
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import DEFAULT_LENGTHS, CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.design.dimensions import BLADE_HEIGHT
from preprocess.coupon.design.model import CouponKind
from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.part import Part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.coupon.design.model import CouponDefinition


_SPANS = {
    CouponKind.POWER_SPEED: (8.0, 2.0),
    CouponKind.ROW_SPAN: DEFAULT_LENGTHS[CouponKind.ROW_SPAN],
}
"""Cells of each setting, mm wide: two at least, so that heat that piles up shows."""

_CELLS = 12
_FINEST = {CouponKind.POWER_SPEED: 0.06, CouponKind.ROW_SPAN: 0.18}
"""Least step between two powers, as a logarithm: finer ones look alike."""

_ROOM = 2.5
"""Powers are looked for up to this factor beyond what was marked."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What to mark next; uncertainties are standard deviations of the band, as factors."""

    kind: CouponKind
    asked: CouponOverrides
    before: float
    after: float

    @property
    def cells(self) -> int:
        """How many cells it has."""
        return len(self.asked.layers) * len(self.asked.lengths)


def propose_coupon(fit: FilamentFit) -> Proposal:
    """Choose kind and settings of the next coupon; a kind that fits on the last plate."""
    offers = [_offer(fit, kind) for kind in _SPANS]
    fitting = [offer for offer in offers if _fits(fit, offer)] or offers[:1]
    return min(fitting, key=lambda offer: offer.after)


def _offer(fit: FilamentFit, kind: CouponKind) -> Proposal:
    """The settings of a kind that tell most, as many as make a dozen cells."""
    reference, patch = reference_patch(fit)
    values = resample(fit.posterior)
    choice = choose_design(
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
    return Proposal(
        kind, CouponOverrides(layers=layers, lengths=_SPANS[kind]), choice.before, choice.after
    )


def _fits(fit: FilamentFit, offer: Proposal) -> bool:
    try:
        build(proposed_definition(fit, offer))
    except Refusal:
        return False
    return True


def _wanted(fit: FilamentFit, patch: HeatPatch, values: Floats) -> Floats:
    """The band's ends and middle at the graded speeds' ends and middle, and how heat piles up."""
    speeds = sorted({fit.sightings.speeds[0], patch.speed, fit.sightings.speeds[-1]})
    bands = [fit.band(_at(patch, speed), values)[:, :3] for speed in speeds]
    spans = DEFAULT_LENGTHS[CouponKind.ROW_SPAN]
    wide, short = (fit.heat(_at(patch, patch.speed, one), values) for one in (spans[0], spans[-1]))
    return np.concatenate([*bands, (short - wide)[:, None]], axis=1)


def _candidates(
    fit: FilamentFit, patch: HeatPatch, values: Floats, kind: CouponKind
) -> Iterator[Candidate]:
    speeds = (patch.speed,) if kind is CouponKind.ROW_SPAN else _speeds(fit)
    for speed in speeds:
        heat = [fit.heat(_at(patch, speed, span, BLADE_HEIGHT), values) for span in _SPANS[kind]]
        for power in _powers(fit, _FINEST[kind]):
            yield Candidate(power, speed, np.stack(heat, axis=1) + np.log(power))


def _speeds(fit: FilamentFit) -> tuple[float, ...]:
    """Graded speeds; a second one where there was but one."""
    known, steps = fit.sightings.speeds, fit.bench.machine_or_default.speed
    if len(known) > 1:
        return known
    other = known[0] / 2 if known[0] / 2 >= steps.from_ else 2 * known[0]
    return tuple(sorted((known[0], other)))


def _powers(fit: FilamentFit, finest: float) -> tuple[float, ...]:
    """Powers that the machine can be set to, not too fine, around those that were marked."""
    steps = fit.bench.machine_or_default.power
    marked = [one.cell.power for one in fit.sightings.all]
    low = max(min(marked) / _ROOM, steps.from_, steps.step)
    high = min(max(marked) * _ROOM, steps.to)
    ladder = np.exp(np.arange(np.log(low), np.log(high) + finest, finest))
    settable = np.round(np.minimum(ladder, high) / steps.step) * steps.step
    return tuple(float(f"{power:.6g}") for power in np.unique(settable) if power > 0)


def _at(
    patch: HeatPatch, speed: float, span: float | None = None, height: float | None = None
) -> HeatPatch:
    size = (span or patch.size[0], height or patch.size[1])
    return HeatPatch(size=size, speed=speed, pitch=patch.pitch, two_way=patch.two_way)


def proposed_definition(fit: FilamentFit, offer: Proposal) -> CouponDefinition:
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
