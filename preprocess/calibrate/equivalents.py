"""Equivalent settings: power and speed of equal heat index, that of the reference patch."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.heat.cell_heat import polynomial_terms
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_artwork, patch_heat
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import beam_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.bench import Bench

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.machine.beam import Beam
    from preprocess.model.bench.filament import Filament, Intervals
    from preprocess.model.bench.machine import Machine

_AROUND = 0.5, 0.7, 1.0, 1.4, 2.0
"""Default speeds, as multiples of the reference patch's."""

_SURE = 1.645
"""Half the width of a 90 % interval, in standard deviations."""

_CENTIMETRE = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class EquivalentSetting:
    """One speed (mm/s) with its powers as shares of the rated power, and the time of 1 cm² in s.

    `even` is as hot as the reference patch, `low` and `high` are the ends of the window, `between`
    is the 90 % interval of `even`. Powers above 1 are more than the machine has.
    """

    speed: float
    even: float
    low: float
    high: float
    between: tuple[float, float] | None
    seconds: float
    graded: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EquivalentSettings:
    """All settings; `exponent` is n of P ~ v^n over these speeds, with its interval if known."""

    each: tuple[EquivalentSetting, ...]
    exponent: float
    exponent_between: tuple[float, float] | None
    machine: Machine | None


def equivalent_settings(
    filament: Filament, machine: Machine | None, speeds: Sequence[float] = ()
) -> EquivalentSettings:
    """Powers for some speeds, by the formula of the predictions.

    Args:
        filament: with its parameters; missing ones are assumed, as in predictions.
        machine: for the times, the beam and the powers that can be set.
        speeds: mm/s; around the reference patch's unless given.
    """
    filament = replace(filament, trials=())  # what is remembered by it must be hashable
    bench = Bench(machine=machine, filament=filament)
    plastic = thermal_medium_of(filament, bench.machine_or_default)
    reference, window = plastic.reference, plastic.window
    wanted = sorted(speeds or _around(filament, reference.speed, bench.machine_or_default))
    two_way = reference.direction is Direction.TWO_WAY
    at = polynomial_terms(np.log(plastic.spread), np.log(plastic.solid.depth))

    def heat(speed: float) -> float:
        patch = HeatPatch(size=reference.size, speed=speed, pitch=reference.pitch, two_way=two_way)
        plain = float(patch_heat(patch, bench)[0] @ at)
        return plain + plastic.speed_correction * float(np.log(speed))

    base, beam = heat(reference.speed), beam_of(bench.machine_or_default)
    found = []
    for speed in wanted:
        light = beam.light(reference.power) * float(np.exp(base - heat(speed)))
        even = beam.power(light)
        away = float(np.log(speed / reference.speed))
        found.append(
            EquivalentSetting(
                speed=speed,
                even=even,
                low=beam.power(light * window.weak),
                high=beam.power(light * window.heavy),
                between=_between(light, away, filament.intervals, beam),
                seconds=_seconds(speed, reference.pitch, bench.machine_or_default, two_way=two_way),
                graded=_graded(speed, filament, reference.speed),
            )
        )
    n = float("nan")
    if len(found) > 1:
        logs = np.log([(one.speed, one.even) for one in found])
        n = float(np.polyfit(logs[:, 0], logs[:, 1], 1)[0])
    return EquivalentSettings(
        each=tuple(found),
        exponent=n,
        exponent_between=_exponent_between(n, filament.intervals, plastic.speed_correction),
        machine=machine,
    )


def _around(filament: Filament, speed: float, machine: Machine) -> set[float]:
    steps = machine.speed
    graded = filament.tried.speed if filament.tried and filament.tried.speed else ()
    every = (*(speed * factor for factor in _AROUND), *graded)
    return {steps.nearest(v) for v in every if steps.holds(v)}


def _graded(speed: float, filament: Filament, reference: float) -> bool:
    low, high = (filament.tried.speed if filament.tried else None) or (reference, reference)
    return low <= speed <= high


def _between(
    light: float, away: float, intervals: Intervals | None, beam: Beam
) -> tuple[float, float] | None:
    """The mean variance of the window's ends, and that of the speed correction."""
    if intervals is None or intervals.weak is None or intervals.heavy is None:
        return None
    ends = [_sd(np.log(intervals.weak)), _sd(np.log(intervals.heavy))]
    speed = _sd(np.array(intervals.speed_correction or (0.0, 0.0)))
    sd = float(np.sqrt((ends[0] ** 2 + ends[1] ** 2) / 2 + (away * speed) ** 2))
    low, high = (beam.power(light * float(np.exp(end * _SURE * sd))) for end in (-1, 1))
    return low, high


def _sd(ends: np.ndarray) -> float:
    return float(ends[1] - ends[0]) / (2 * _SURE)


def _exponent_between(
    n: float, intervals: Intervals | None, correction: float
) -> tuple[float, float] | None:
    """A greater correction c lowers n by as much."""
    if intervals is None or intervals.speed_correction is None:
        return None
    low, high = intervals.speed_correction
    return n + correction - high, n + correction - low


def _seconds(speed: float, pitch: float, machine: Machine, *, two_way: bool) -> float:
    patch = HeatPatch(size=(_CENTIMETRE, _CENTIMETRE), speed=speed, pitch=pitch, two_way=two_way)
    return schedule_of(plan_of(patch_artwork(patch), machine), machine).total
