"""What of a way no graded cell had: pitch, speed, row spans, own rows, repeats."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from preprocess.coupon.design.for_design import design_uses

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.advice.simulate import Simulation
    from preprocess.coupon.design.for_design import DesignUse
    from preprocess.coupon.design.model import CouponKind


_SHORT = {"row span": "rows of", "repeats": "repeats:"}
"""Words of the table for what `design_uses` calls otherwise."""


class Ungraded(NamedTuple):
    """One use that no graded cell had: the table's words, what was graded, the coupon to mark."""

    what: str
    words: str
    graded: str
    coupon: CouponKind


def ungraded_uses(trial: Simulation) -> tuple[Ungraded, ...]:
    """Uses of a way beyond the graded cells; none for an ungraded filament, of which all are."""
    if not trial.heat.calibrated:
        return ()
    uses = design_uses(trial.plan, trial.schedule, trial.bench.filament, widths=False)
    return tuple(
        Ungraded(one.what, _words(one), one.graded, one.kind)
        for one in uses
        if one.kind is not None
    )


def _words(use: DesignUse) -> str:
    if use.used == "yes":
        return use.what
    return f"{_SHORT.get(use.what, use.what)} {use.used}"


def ungraded_why(uses: Sequence[Ungraded]) -> str:
    """Why a way is left out that needs what no graded cell had."""
    words = " and ".join(use.words for use in uses)
    coupons = " and ".join(dict.fromkeys(f"a {use.coupon} coupon" for use in uses))
    return f"no cell was graded with {words}; grade {coupons}, or list it with --beyond-graded"
