"""The next coupon: the kind and settings that should narrow the even band most.

The band counts at the speeds in use, together with the heat gain of short rows. A power-speed and
a row-span coupon are compared; the one that leaves less variance is proposed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.next_coupon.expected_variance import Candidate, choose_design, resample
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import (
    DEFAULT_LENGTHS,
    CouponOverrides,
    in_marking_order,
)
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
    from preprocess.calibrate.heat.patch_heat import HeatPatch
    from preprocess.coupon.design.model import CouponDefinition


_SPANS = {
    CouponKind.POWER_SPEED: (8.0, 2.0),
    CouponKind.ROW_SPAN: DEFAULT_LENGTHS[CouponKind.ROW_SPAN],
}
"""Widths of the cells of each setting, mm: at least two, to show the heat gain of short rows."""

_CELLS = 12
_FINEST = {CouponKind.POWER_SPEED: 0.06, CouponKind.ROW_SPAN: 0.18}
"""Least step between two powers, as a logarithm: finer steps look alike."""

_ROOM = 2.5
"""Factor by which candidate powers reach beyond the marked ones."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposed coupon, with the standard deviation of the log band before and after it."""

    kind: CouponKind
    asked: CouponOverrides
    before: float
    after: float

    @property
    def cells(self) -> int:
        """Number of its cells."""
        return len(self.asked.layers) * len(self.asked.lengths)


def propose_coupon(fit: FilamentFit) -> Proposal:
    """Choose kind and settings of the next coupon, if possible one that fits on the last plate."""
    offers = [_offer(fit, kind) for kind in _SPANS]
    fitting = [offer for offer in offers if _fits(fit, offer)] or offers[:1]
    return min(fitting, key=lambda offer: offer.after)


def _offer(fit: FilamentFit, kind: CouponKind) -> Proposal:
    """The best settings of a kind, for a dozen cells."""
    reference, patch = reference_patch(fit)
    values = resample(fit.posterior)
    choice = choose_design(
        values,
        _wanted(fit, patch, values),
        list(_candidates(fit, patch, values, kind)),
        _CELLS // len(_SPANS[kind]),
    )
    extra = tuple(sorted((fit.known.extra_settings or {}).items()))
    shared = Settings(
        pitch=reference.pitch, direction=reference.direction, angle=0.0, repeats=1, extra=extra
    )
    layers = in_marking_order(
        replace(shared, power=one.power, speed=one.speed) for one in choice.candidates
    )
    asked = CouponOverrides(layers=layers, lengths=_SPANS[kind])
    return Proposal(kind, asked, choice.before, choice.after)


def _fits(fit: FilamentFit, offer: Proposal) -> bool:
    try:
        build(proposed_definition(fit, offer))
    except Refusal:
        return False
    return True


def _wanted(fit: FilamentFit, patch: HeatPatch, values: Floats) -> Floats:
    """The band at the least, reference and greatest graded speed, and the gain of short rows."""
    speeds = sorted({fit.observations.speeds[0], patch.speed, fit.observations.speeds[-1]})
    bands = [fit.band(replace(patch, speed=speed), values)[:, :3] for speed in speeds]
    spans = DEFAULT_LENGTHS[CouponKind.ROW_SPAN]
    wide, short = (
        fit.heat(replace(patch, size=(span, patch.size[1])), values)
        for span in (spans[0], spans[-1])
    )
    return np.concatenate([*bands, (short - wide)[:, None]], axis=1)


def _candidates(
    fit: FilamentFit, patch: HeatPatch, values: Floats, kind: CouponKind
) -> Iterator[Candidate]:
    speeds = (patch.speed,) if kind is CouponKind.ROW_SPAN else _speeds(fit)
    for speed in speeds:
        blades = [replace(patch, size=(span, BLADE_HEIGHT), speed=speed) for span in _SPANS[kind]]
        heat = [fit.heat(blade, values) for blade in blades]
        for power in _powers(fit, _FINEST[kind]):
            light = fit.beam.light(power)
            if light > 0:
                yield Candidate(power, speed, np.stack(heat, axis=1) + np.log(light))


def _speeds(fit: FilamentFit) -> tuple[float, ...]:
    """Graded speeds, or a second one beside a single one."""
    known, steps = fit.observations.speeds, fit.bench.machine_or_default.speed
    if len(known) > 1:
        return known
    other = known[0] / 2 if known[0] / 2 >= steps.from_ else 2 * known[0]
    return tuple(sorted((known[0], other)))


def _powers(fit: FilamentFit, finest: float) -> tuple[float, ...]:
    """Settable powers around the marked ones, at least `finest` apart."""
    steps = fit.bench.machine_or_default.power
    marked = [one.cell.power for one in fit.observations.all]
    low = max(min(marked) / _ROOM, steps.from_, steps.step)
    high = min(max(marked) * _ROOM, steps.to)
    ladder = np.exp(np.arange(np.log(low), np.log(high) + finest, finest))
    settable = np.round(np.minimum(ladder, high) / steps.step) * steps.step
    return tuple(float(f"{power:.6g}") for power in np.unique(settable) if power > 0)


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
