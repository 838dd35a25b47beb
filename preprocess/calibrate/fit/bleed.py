"""The bleed: growth of a mark beyond the beam, from gaps that stayed open and gaps that closed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import CouponKind, Grade
from preprocess.findings import Finding, note, warn
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.calibrate.grades.trials import CouponTrial


def bleed_interval(trials: Sequence[CouponTrial]) -> tuple[float, float] | None:
    """Least and most bleed, mm; None where no gauge identifies it.

    A mark reaches half a spot and the bleed beyond the path of the beam's centre, which runs along
    the drawn edge. So a gap closes when that is half its width. The sum is at least half the widest
    closed gap, and less than half the narrowest open one.
    """
    shut, clear = _gaps(trials)
    spot, widest = _spot(trials), max(shut, default=0.0)
    if spot is None or not clear or widest >= min(clear) or min(clear) < spot:
        return None
    return round(max(widest - spot, 0.0) / 2, 6), round((min(clear) - spot) / 2, 6)


def bleed_findings(trials: Sequence[CouponTrial]) -> Iterator[Finding]:
    """Reason that gauges of gaps do not identify the bleed, at most one finding."""
    shut, clear = _gaps(trials)
    spot = _spot(trials)
    if shut and clear and max(shut) >= min(clear):
        yield warn(
            "gaps-contradict",
            f"a gap of {digits(min(clear))} mm stayed open, but one of {digits(max(shut))} mm "
            "closed: the bleed stays unknown",
            "look at the gaps again with a magnifier",
        )
    elif (shut or clear) and spot is None:
        yield note(
            "spot-unknown",
            "the machine's spot size is missing, so the gaps do not identify the bleed",
            "give the machine its spot, and make the coupon again",
        )
    elif spot is not None and clear and min(clear) < spot:
        yield warn(
            "spot-too-large",
            f"a gap of {digits(min(clear))} mm stayed open, but the machine's spot is "
            f"{digits(spot)} mm",
            f"correct the spot of the machine, to less than {digits(min(clear))} mm",
        )
    elif spot is not None and shut and not clear:
        yield note(
            "no-gap-open",
            f"every gap up to {digits(max(shut))} mm closed: the bleed is above "
            f"{digits(round(max(max(shut) - spot, 0) / 2, 6))} mm",
            "mark wider gaps, or with less power",
        )


def _spot(trials: Sequence[CouponTrial]) -> float | None:
    """Diameter of the beam on the machine of the gauges, mm."""
    gauges = (t.definition for t in trials if t.definition.kind is CouponKind.SPOT_BLEED)
    machine = next((gauge.machine for gauge in gauges), None)
    return machine.spot if machine else None


def _gaps(trials: Sequence[CouponTrial]) -> tuple[list[float], list[float]]:
    """Widths of closed gaps and of open gaps, mm."""
    shut: list[float] = []
    clear: list[float] = []
    for trial in trials:
        if trial.definition.kind is not CouponKind.SPOT_BLEED:
            continue
        for cell in build(trial.definition).cells:
            for grade in trial.grades.get(cell.name, ()) if "gap" in cell.size else ():
                closed = grade in {Grade.HEAVY, Grade.MOLTEN}
                (shut if closed else clear).append(cell.size["gap"])
    return shut, clear
