"""The beam's light: how it follows the power that is set, and how it begins.

Below the machine's power offset there is no light; above it the light rises in proportion. Where a
row, a run of it or a line begins, the light comes late by the laser-on delay and then rises evenly
to the full over the power ramp. Both are lengths of the row that grow with its speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.model.bench.machine import Machine


_DARK = 1e-6
"""Share of the full light that counts as none."""

_STEPS = 4
"""Equal steps that stand for the even rise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """Offset as a share of the rated power, ramp and delay in s."""

    offset: float = 0.0
    ramp: float = 0.0
    delay: float = 0.0

    @property
    def at_once(self) -> bool:
        """True if the light is full from where a row begins."""
        return self.ramp == 0 and self.delay == 0

    def light(self, power: float) -> float:
        """Light at a power, both as shares of the full."""
        return max(0.0, (power - self.offset) / (1 - self.offset))

    def power(self, light: float) -> float:
        """The power that gives a light, both as shares of the full."""
        return self.offset + light * (1 - self.offset)

    def scaled(self, power: float, factor: float) -> float:
        """The power that gives `factor` times the light of another."""
        return self.power(factor * self.light(power))

    def ratio(self, power: float, other: float) -> float:
        """Light at one power over that at another; the least light counts as a little."""
        return max(self.light(power), _DARK) / max(self.light(other), _DARK)

    def rise(self, speed: float) -> tuple[Floats, Floats]:
        """Changes of light along a run, mm from its beginning, and its share from there on."""
        late, long = speed * self.delay, speed * self.ramp
        if not long:
            return np.array([0.0, late]), np.array([0.0, 1.0])
        steps = np.arange(_STEPS + 1) / _STEPS
        shares = np.append((steps[:-1] + steps[1:]) / 2, 1.0)
        return np.concatenate([[0.0], late + long * steps]), np.concatenate([[0.0], shares])


def beam_of(machine: Machine) -> Beam:
    """The light of a machine's beam."""
    return Beam(offset=machine.power_offset, ramp=machine.power_ramp, delay=machine.laser_on_delay)
