"""Dark moves of the beam: turnaround, fly-back, and the hop to the next path, in seconds.

A galvo needs a fixed turnaround and moves dark at its fly-back speed, without run-up.

A gantry with a known acceleration a runs on past the end of a row until it rests (v/a, over
v²/2a) and up to speed before the next one (v/a, over v²/2a). Two-way rows cost 2 v/a; one-way rows
cost in addition the way back from rest to rest over the row's width plus both run-ups, v²/a. From
rest to rest over D at fly-back speed f takes D/f + f/a, or 2 √(D/a) where D is too short for f.
Software that adds an overscan L of its own runs on at v over L − v²/2a more at each end, 2 (L −
v²/2a)/v for every turn, and the way back is longer by 2 L − v²/a. A gantry for which only a
turnaround is known is treated like a galvo.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.machine import Gaps, Machine, Mover
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.arrays import Floats


_TURNAROUND = 1.2e-3
"""s, assumed of a galvo whose machine file gives none."""

_ACCELERATION = 3000.0
"""mm/s², assumed of a gantry whose machine file gives neither acceleration nor turnaround."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """The machine's dark moves. `acceleration` None: a fixed turnaround instead.

    `overscan` is what the software adds by itself at each end of a row, mm, run-up included.
    `fly_back` None: dark moves go at the speed of the row (mm/s) that they follow.
    """

    turnaround: float = _TURNAROUND
    acceleration: float | None = None
    overscan: float | None = None
    fly_back: float | None = None
    gaps: Gaps = Gaps.SWEPT

    def flight(self, speed: float) -> float:
        """Speed of dark moves after a row of a given speed, mm/s."""
        return self.fly_back or speed

    def across_gaps(self, speed: float) -> float:
        """Speed over blank gaps inside a row: the row's own, or that of flight if jumped, mm/s."""
        return speed if self.gaps is Gaps.SWEPT else self.flight(speed)

    def between_rows(self, speed: float, width: Floats, direction: Direction | None) -> Floats:
        """Seconds from the last lit point of each row to the first of the next one.

        Args:
            speed: mm/s along the row.
            width: swept width of each row that is left, mm.
            direction: one-way rows fly back over their own width.
        """
        one_way = direction is not Direction.TWO_WAY
        if self.acceleration is None:
            back = width / self.flight(speed) if one_way else np.zeros_like(width)
            return self.turnaround + back
        run_up = speed**2 / self.acceleration
        further = max(0.0, 2 * (self.overscan or 0.0) - run_up)
        way = width + run_up + further
        back = self._rest_to_rest(way, speed) if one_way else np.zeros_like(width)
        return 2 * speed / self.acceleration + further / speed + back

    def hop(self, distance: float, leaving: float, entering: float) -> float:
        """Seconds from the end of one path to the start of the next, `distance` mm away.

        `leaving` and `entering` are the marking speeds (mm/s) on both sides. The way that a gantry
        needs for its run-ups is not added to the distance.
        """
        if self.acceleration is None:
            return self.turnaround + distance / self.flight(leaving)
        flight = self._rest_to_rest(np.asarray(distance), leaving)
        return (leaving + entering) / self.acceleration + float(flight)

    def _rest_to_rest(self, distance: Floats, speed: float) -> Floats:
        top, acceleration = self.flight(speed), self.acceleration or _ACCELERATION
        cruising = distance / top + top / acceleration
        short = 2 * np.sqrt(distance / acceleration)
        return np.where(distance >= top**2 / acceleration, cruising, short)


def motion_of(machine: Machine) -> tuple[Motion, tuple[str, ...]]:
    """The machine's motion, and in words what had to be assumed."""
    assumed = []
    turnaround, acceleration = machine.turnaround, None
    if machine.mover is Mover.GANTRY and (machine.acceleration or turnaround is None):
        acceleration = machine.acceleration or _ACCELERATION
        if machine.acceleration is None:
            assumed.append(f"an acceleration of {digits(_ACCELERATION)} mm/s²")
    elif turnaround is None:
        assumed.append(f"a turnaround of {digits(1e3 * _TURNAROUND)} ms")
    if machine.fly_back is None:
        assumed.append("dark moves at the speed of the rows")
    motion = Motion(
        turnaround=_TURNAROUND if turnaround is None else turnaround,
        acceleration=acceleration,
        overscan=machine.overscan if acceleration else None,
        fly_back=machine.fly_back,
        gaps=machine.gaps,
    )
    return motion, tuple(assumed)
