"""Search for the powers of a layer's rounds at which its worst places are most even."""

from __future__ import annotations

import math
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from preprocess.passes.solve_power.round_response import start_factors

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.arrays import Floats
    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.machine.beam import Beam
    from preprocess.model.bench.machine import PowerSteps
    from preprocess.passes.solve_power.round_response import RoundResponse
    from preprocess.passes.solve_power.solver import Powers

_Set = tuple[float, ...]

_MOVES = 0.015, 0.0075
"""By how much one colour's light is changed to see whether that helps, as a share."""

_DRIFT = 0.501
"""Machine's steps by which the mean light may leave that of equal powers."""

_STEADY = 5e-4
"""The same as a share, where steps are finer."""

_LIKELY = {"hot": 0.035, "cold": 0.055, "seam": 0.03}
_WORST = {"hot": 0.1, "cold": 0.11}
"""How far off four colours leave most drawings, as shares: what each figure is measured by."""

_LIKELY_OF_TWO = {"hot": 0.05, "cold": 0.05, "seam": 0.045}
_WORST_OF_TWO = {"hot": 0.1, "cold": 0.14}
"""The same of two colours."""

_TWO = 2

_POWER = 8
"""Exponent by which several figures make one: the largest counts most, and others a little."""


def most_even_powers(
    response: RoundResponse, level: Powers, steps: PowerSteps, beam: Beam
) -> Powers:
    """Powers that the machine can be set to; their mean stays that of `level`, in light."""
    names = [output.id for output in response.outputs]
    usual = level[names[0]]
    one_step = beam.ratio(usual + steps.step, usual) - 1

    def light(powers: _Set) -> Floats:
        return np.array(
            [beam.ratio(power, level[n]) for n, power in zip(names, powers, strict=True)]
        )

    most = response.figures(np.ones(len(names)))[1].off

    @cache
    def strain(powers: _Set) -> float:
        each = light(powers)
        if abs(np.log(each).mean()) > max(_DRIFT * one_step, _STEADY):
            return math.inf
        likely, worst = response.figures(each)
        return _strain(likely, worst, len(each)) if worst.off <= most else math.inf

    usual_light = np.array(start_factors(len(names)))
    usual_light /= np.exp(np.log(usual_light).mean())
    begin = (beam.scaled(level[n], by) for n, by in zip(names, usual_light.tolist(), strict=True))
    powers = tuple(steps.nearest(power) for power in begin)
    if math.isinf(strain(powers)):
        powers = tuple(steps.nearest(level[name]) for name in names)
    for move in dict.fromkeys(max(1, round(share / one_step)) for share in _MOVES):
        powers = _descended(powers, move * steps.step, steps, strain)
    return dict(zip(names, powers, strict=True))


def _descended(
    powers: _Set, move: float, steps: PowerSteps, strain: Callable[[_Set], float]
) -> _Set:
    """Raise or lower one colour, or one against another, for as long as that helps."""
    best, better = strain(powers), True
    while better:
        better = False
        for turn in _turns(len(powers)):
            wanted = (power + move * by for power, by in zip(powers, turn, strict=True))
            trial = tuple(steps.nearest(power) for power in wanted)
            found = strain(trial)
            if found < best:
                powers, best, better = trial, found, True
    return powers


def _turns(count: int) -> Iterator[tuple[int, ...]]:
    one = np.eye(count, dtype=int)
    for i, j in product(range(count), repeat=2):
        for by in (1, -1) if i == j else (1,):
            yield tuple((by * one[i] - (i != j) * one[j]).tolist())


def _strain(likely: EvennessFigures, worst: EvennessFigures, colours: int) -> float:
    usual = (_LIKELY_OF_TWO, _WORST_OF_TWO) if colours == _TWO else (_LIKELY, _WORST)
    off = [
        abs(getattr(figures, name) - (0.0 if name == "seam" else 1.0)) / figure
        for figures, each in zip((likely, worst), usual, strict=True)
        for name, figure in each.items()
    ]
    return math.fsum(one**_POWER for one in off) ** (1 / _POWER)
