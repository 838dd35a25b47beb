"""Rating of a way at powers that are solved for its colours, by the objective of all commands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.advice.lines import meets_a_line, shortfall
from preprocess.advice.ungraded import ungraded_uses
from preprocess.marking.checks.profile_checks import least_visible_spike, median_spike
from preprocess.marking.evenness.objective import evenness_objective
from preprocess.marking.evenness.row_bound import row_bound
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.marking.job.plan import plan_with_powers
from preprocess.marking.machine.beam import beam_of
from preprocess.remedies.balance import (
    colour_numbers,
    even_powers,
    lacking_light,
    middle_index,
    scaled_heat,
    swept_powers,
)
from preprocess.remedies.speeds import slower_speed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.advice.simulate import Simulation
    from preprocess.advice.ungraded import Ungraded
    from preprocess.advice.ways import Way
    from preprocess.marking.evenness.objective import EvennessFigures, Objective
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.bench.machine import PowerSteps

_SAME = 1e-9

_STEP = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedWay:
    """A way with its powers settled, and what it comes to.

    `powers` are those of its colours that are swept (shares), `median` is that of the heat index.
    `bound` is how even it would be with a power for each row, `ungraded` what no cell had, and
    `spreads` are those judged, the likely one first (mm). `in_rounds` tells whether its rows are
    marked in rounds, by `interleave` or `hatch`. `shows` is False where a colour would leave no
    mark.
    """

    way: Way
    objective: Objective
    powers: tuple[float, ...]
    median: float
    bound: EvennessFigures
    spreads: tuple[float, ...]
    ungraded: tuple[Ungraded, ...] = ()
    in_rounds: bool = False
    shows: bool = True

    @property
    def key(self) -> tuple[float, float, float, int]:
        """For comparing: worst places, the same at worst, time, layers; rounded to what is seen."""
        found = self.objective
        outside = found.likely.outside or 0.0
        return (
            _seen(found.likely.off) + (round(outside, 2) if outside > TOLERATED_SHARE else 0.0),
            _seen(found.worst.off),
            round(found.time, 1),
            found.layers,
        )


def _seen(off: float) -> float:
    """To steps of half a per cent: less is not seen."""
    return round(off / _STEP) * _STEP


def rank_of(one: RatedWay, pitch: float) -> tuple[float, ...]:
    """For ranking, the best first: what meets a line, what misses it least, as `RatedWay.key`.

    What lies outside the window of a graded filament counts as missed.
    """
    found, outside = one.objective, one.objective.likely.outside or 0.0
    even = meets_a_line(found, pitch) and outside <= TOLERATED_SHARE
    return not even, shortfall(found, pitch) + round(outside, 1), *one.key


def rate_way(trial: Simulation) -> RatedWay:
    """Solve the powers of an interleaved way's colours, and judge it; others as they are.

    Offsets of whole colours hardly follow the width of columns, so that powers are searched for by
    quick looks, and what was found is simulated as finely as all else.
    """
    way = trial.way
    if way.is_searched:
        powers = _searched_powers(trial)
        heat = _simulated(trial, powers, Effort.BOUNDED)
        return _described(_rated(trial, _told(way, trial, powers), heat, powers), trial, heat)
    settled = way.given or way.bars or way.levels or way.images
    if settled or not trial.heat.calibrated:
        return _described(_rated(trial, way, trial.heat, _by_output(trial)), trial, trial.heat)
    powers = _even(trial, trial.heat, _by_output(trial))
    heat = _heat_at(trial, powers)
    return _described(_rated(trial, _told(way, trial, powers), heat, powers), trial, heat)


def _searched_powers(trial: Simulation) -> dict[str, float]:
    """Powers of the colours: the first guess, moved once towards an even job where that helps."""
    start = _by_output(trial)
    powers = _even(trial, trial.heat, start)
    if powers == start or trial.heat.calibrated:
        return powers
    first = _rated(trial, trial.way, trial.heat, start)
    moved = _rated(trial, trial.way, _heat_at(trial, powers), powers)
    return powers if moved.key < first.key else start


def _even(trial: Simulation, heat: HeatIndex, powers: Mapping[str, float]) -> dict[str, float]:
    return even_powers(heat, powers, _colour_numbers(trial), trial.bench.machine_or_default)


def _heat_at(trial: Simulation, powers: Mapping[str, float]) -> HeatIndex:
    """The heat at other powers, as finely as before; where all change alike, in proportion."""
    beam, own = beam_of(trial.bench.machine_or_default), _by_output(trial)
    ratios = [beam.ratio(power, own[name]) for name, power in powers.items()]
    if max(ratios) - min(ratios) < _SAME:
        return scaled_heat(trial.heat, ratios[0])
    return _simulated(trial, powers, trial.way.effort)


def _simulated(trial: Simulation, powers: Mapping[str, float], effort: Effort) -> HeatIndex:
    plan = plan_with_powers(trial.plan, powers)
    return heat_index_of_plan(plan, trial.schedule, trial.artwork, trial.bench, effort=effort)


def _described(one: RatedWay, trial: Simulation, heat: HeatIndex) -> RatedWay:
    """With what is told of the way that was kept: its bound, what was not graded, its marks."""
    bound, likely = row_bound(heat), one.objective.likely
    assert bound is not None  # noqa: S101 - the caller has looked
    bound = replace(bound, hot=min(bound.hot, likely.hot), cold=max(bound.cold, likely.cold))
    return replace(one, bound=bound, ungraded=ungraded_uses(trial), shows=_shows(trial, heat))


def lower_speed(trial: Simulation, slowest: float) -> float | None:
    """The speed (mm/s) at which the machine's power suffices; None if it does as it is.

    `slowest` is the least speed that may be asked for, mm/s.
    """
    machine, powers = trial.bench.machine_or_default, _by_output(trial)
    own = next(s.settings.speed for s in trial.plan.steps if s.output.id in powers)
    if not trial.heat.calibrated or own is None or trial.way.form is None:
        return None
    short = lacking_light(trial.heat, powers, machine)
    return None if short is None else slower_speed(own, short, machine.speed, slowest)


def _by_output(trial: Simulation) -> dict[str, float]:
    return swept_powers(trial.plan, trial.heat)


def _colour_numbers(trial: Simulation) -> dict[str, int]:
    """Number of each swept output among the colours of its layer's rounds."""
    return colour_numbers(trial.outputs, _by_output(trial))


def _told(way: Way, trial: Simulation, powers: Mapping[str, float]) -> Way:
    """The way with powers as its recipe gives them: of the layer, and shares by colour.

    The layer's own power stays where the filament is not graded.
    """
    colour = _colour_numbers(trial)
    by_number = {colour[name]: power for name, power in powers.items()}
    graded = trial.heat.calibrated
    power = by_number[0] if graded else way.power
    if way.form is None:
        return replace(way, power=power)
    own = power if graded and power is not None else _own_power(trial)
    steps = trial.bench.machine_or_default.power
    shares = tuple(_plain_share(by_number[number], own, steps) for number in sorted(by_number))
    plain = len(shares) == 1 and abs(shares[0] - 1) < _SAME
    return replace(way, power=power, powers=() if plain else shares)


def _plain_share(power: float, own: float, steps: PowerSteps) -> float:
    """The shortest share of `own`, in per cent, that the machine's steps round to a power."""
    for decimals in range(2, 9):
        share = round(power / own, decimals)
        if abs(steps.nearest(share * own) - power) < _SAME:
            return share
    return power / own


def _own_power(trial: Simulation) -> float:
    """Power of the first swept layer, without shares."""
    swept = _by_output(trial)
    first = next(o for o in trial.outputs if o.id in swept)
    return trial.artwork.layer(first.layer).of(first.operation).power or 1.0


def _rated(trial: Simulation, way: Way, heat: HeatIndex, powers: Mapping[str, float]) -> RatedWay:
    layers = len({step.output.id for step in trial.plan.steps})
    judged = evenness_objective(heat, time=trial.schedule.total, layers=layers)
    assert judged is not None  # noqa: S101 - the caller has looked
    return RatedWay(
        way=way,
        objective=judged,
        powers=tuple(powers.values()),
        median=middle_index(heat),
        bound=judged.likely,
        spreads=heat.spreads,
        in_rounds=any(output.in_rounds for output in trial.outputs),
    )


def _shows(trial: Simulation, heat: HeatIndex) -> bool:
    filament = trial.bench.filament
    if filament is None or filament.reference is None:
        return True
    needed = least_visible_spike(filament, trial.bench.machine_or_default)
    spikes = (median_spike(heat, name) for name in _by_output(trial))
    return all(spike >= needed for spike in spikes if spike is not None)
