"""The machine's extra settings of graded coupons: a profile holds for one set of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import wrong

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.calibrate.grades.trials import CouponTrial

_UNTOLD = "not told"


def graded_with(trials: Sequence[CouponTrial]) -> dict[str, str]:
    """The extra settings of all graded layers, by name.

    Raises:
        UserError: coupons, or layers of one, were made under different ones; says which differ.
    """
    found = list(_settings(trials))
    first, said = found[0]
    for coupon, other in found[1:]:
        if other != said:
            names = [n for n in sorted({**said, **other}) if said.get(n) != other.get(n)]
            differing = "; ".join(
                f"{n.replace('_', ' ')} is {said.get(n, _UNTOLD)} for {first} and "
                f"{other.get(n, _UNTOLD)} for {coupon}"
                for n in names
            )
            raise wrong(
                f"the grades were made under different settings: {differing}",
                "fit each by itself, into a profile of its own",
            )
    return dict(said)


def _settings(trials: Sequence[CouponTrial]) -> Iterator[tuple[str, dict[str, str]]]:
    for trial in trials:
        for settings in trial.definition.settings:
            yield trial.coupon, dict(settings.extra)
