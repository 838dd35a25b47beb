"""How far a mark grows beyond the beam, from gaps that stayed open and gaps that grew shut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.build import build
from preprocess.coupon.grades import Grade
from preprocess.coupon.model import Kind
from preprocess.findings import Finding, note, warn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.coupon.trials import Trial


def bleed_of(trials: Sequence[Trial]) -> tuple[float, float] | None:
    """Between which lengths (mm) the bleed lies; None where no gauge tells.

    A gap grows shut when the mark reaches half its width from either side: the bleed is at least
    half the widest gap that is shut, and less than half the narrowest that is open.
    """
    shut, clear = _gaps(trials)
    if not clear or (shut and max(shut) >= min(clear)):
        return None
    return (max(shut) / 2 if shut else 0.0, min(clear) / 2)


def bleed_findings(trials: Sequence[Trial]) -> tuple[Finding, ...]:
    """What the gauge of gaps does not tell."""
    shut, clear = _gaps(trials)
    if shut and clear and max(shut) >= min(clear):
        return (
            warn(
                "gaps-contradict",
                f"a gap of {min(clear):g} mm stayed open and one of {max(shut):g} mm grew shut, so "
                "the grades do not tell the bleed",
                "look at the gaps again with a magnifier",
            ),
        )
    if shut and not clear:
        return (
            note(
                "no-gap-open",
                f"every gap up to {max(shut):g} mm grew shut: the bleed is above "
                f"{max(shut) / 2:g} mm",
                "mark wider gaps, or with less power",
            ),
        )
    return ()


def _gaps(trials: Sequence[Trial]) -> tuple[list[float], list[float]]:
    """Widths of gaps that grew shut, and of gaps that stayed open, mm."""
    shut: list[float] = []
    clear: list[float] = []
    for trial in trials:
        if trial.definition.kind is not Kind.SPOT_BLEED:
            continue
        for cell in build(trial.definition).cells:
            for grade in trial.grades.get(cell.name, ()) if "gap" in cell.size else ():
                closed = grade in {Grade.HEAVY, Grade.MOLTEN}
                (shut if closed else clear).append(cell.size["gap"])
    return shut, clear
