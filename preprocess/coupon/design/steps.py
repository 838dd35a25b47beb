"""Powers and speeds that a machine can be set to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.model.bench.machine import Machine, PowerSteps, SpeedSteps
from preprocess.units import SHARE

if TYPE_CHECKING:
    from collections.abc import Iterable

_SLACK = 1e-9


def settable_power(power: float, machine: Machine | None) -> float:
    """The nearest power that the machine can be set to; whole percents without a machine."""
    return _nearest(power, (machine or Machine()).power)


def settable_speed(speed: float, machine: Machine | None) -> float:
    """The nearest speed that the machine can be set to; whole mm/s without a machine."""
    return _nearest(speed, (machine or Machine()).speed)


def refuse_unsettable(powers: Iterable[float], machine: Machine | None) -> None:
    """Refuse powers that a person could not type in as they would stand in the table.

    Raises:
        Refusal: one is out of range, or lies between two steps.
    """
    steps = (machine or Machine()).power
    for power in powers:
        if machine is None and power <= steps.to:
            continue
        if not steps.from_ - _SLACK <= power <= steps.to + _SLACK:
            raise Refusal(
                f"a power of {SHARE.text(power)} cannot be set",
                f"choose between {SHARE.text(steps.from_)} and {SHARE.text(steps.to)}",
            )
        nearest = settable_power(power, machine)
        if abs(nearest - power) > _SLACK:
            raise Refusal(
                f"a power of {SHARE.text(power)} lies between two steps of the machine",
                f"give {SHARE.text(nearest)}",
            )


def _nearest(value: float, steps: PowerSteps | SpeedSteps) -> float:
    nearest = steps.from_ + round((value - steps.from_) / steps.step) * steps.step
    return round(min(max(nearest, steps.from_), steps.to), 6)
