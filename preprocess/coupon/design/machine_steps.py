"""Powers and speeds that a machine can be set to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.units import SHARE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.model.bench.bench import Bench

_SLACK = 1e-9


def settable_power(power: float, bench: Bench) -> float:
    """The nearest power that the machine can be set to; whole percents without a machine."""
    return bench.machine_or_default.power.nearest(power)


def settable_speed(speed: float, bench: Bench) -> float:
    """The nearest speed that the machine can be set to; whole mm/s without a machine."""
    return bench.machine_or_default.speed.nearest(speed)


def refuse_unsettable(powers: Iterable[float], bench: Bench) -> None:
    """Refuse powers that the machine cannot be set to.

    Raises:
        Refusal: one is out of range, or lies between two steps.
    """
    steps = bench.machine_or_default.power
    for power in powers:
        if bench.machine is None and power <= steps.to:
            continue
        if not steps.from_ - _SLACK <= power <= steps.to + _SLACK:
            raise Refusal(
                f"a power of {SHARE.text(power)} cannot be set",
                f"choose between {SHARE.text(steps.from_)} and {SHARE.text(steps.to)}",
            )
        nearest = settable_power(power, bench)
        if abs(nearest - power) > _SLACK:
            raise Refusal(
                f"a power of {SHARE.text(power)} lies between two steps of the machine",
                f"give {SHARE.text(nearest)}",
            )
