"""How far a mark grows beyond the beam, from gaps that stayed open and gaps that grew shut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import CouponKind, Grade
from preprocess.findings import Finding, note, warn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.calibrate.grades.trials import CouponTrial


def bleed_interval(trials: Sequence[CouponTrial]) -> tuple[float, float] | None:
    """Between which lengths (mm) the bleed lies; None where no gauge tells.

    A mark reaches half a spot and the bleed beyond the path of the beam's middle, which runs along
    the drawn edge. So a gap grows shut when that is half its width: it is at least half the widest
    gap that is shut, and less than half the narrowest that is open.
    """
    shut, clear = _gaps(trials)
    spot = _spot(trials)
    if spot is None or not clear or max(shut, default=0.0) >= min(clear) or min(clear) < spot:
        return None
    least = max(max(shut, default=0.0) - spot, 0.0) / 2
    return _plain(least), _plain((min(clear) - spot) / 2)


def bleed_findings(trials: Sequence[CouponTrial]) -> tuple[Finding, ...]:
    """What the gauge of gaps does not tell."""
    shut, clear = _gaps(trials)
    spot = _spot(trials)
    if not shut and not clear:
        return ()
    if shut and clear and max(shut) >= min(clear):
        return (
            warn(
                "gaps-contradict",
                f"a gap of {min(clear):g} mm stayed open and one of {max(shut):g} mm grew shut, so "
                "the grades do not tell the bleed",
                "look at the gaps again with a magnifier",
            ),
        )
    if spot is None:
        return (
            note(
                "spot-unknown",
                "gaps tell half the spot and the bleed together, and nobody knows the spot of this "
                "machine, so the grades do not tell the bleed",
                "give the machine its spot, and make the coupon again",
            ),
        )
    if clear and min(clear) < spot:
        return (
            warn(
                "spot-too-large",
                f"a gap of {min(clear):g} mm stayed open, which is narrower than the spot of "
                f"{spot:g} mm: the beam marks less wide than that",
                f"correct the spot of the machine, to less than {min(clear):g} mm",
            ),
        )
    if not clear:
        return (
            note(
                "no-gap-open",
                f"every gap up to {max(shut):g} mm grew shut: the bleed is above "
                f"{_plain(max(max(shut) - spot, 0) / 2):g} mm",
                "mark wider gaps, or with less power",
            ),
        )
    return ()


def _spot(trials: Sequence[CouponTrial]) -> float | None:
    """Diameter of the beam on the machine of the gauges, mm."""
    gauges = [t.definition for t in trials if t.definition.kind is CouponKind.SPOT_BLEED]
    machine = gauges[0].machine if gauges else None
    return machine.spot if machine else None


def _plain(length: float) -> float:
    return round(length, 6)


def _gaps(trials: Sequence[CouponTrial]) -> tuple[list[float], list[float]]:
    """Widths of gaps that grew shut, and of gaps that stayed open, mm."""
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
