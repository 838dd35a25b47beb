"""From a job to advice: leave it alone, or interleave, and only then bars and zones."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.advice.candidates import (
    OWN_ROWS_UNGRADED,
    SPEED_UNGRADED,
    can_be_one_layer,
    colours_left,
    engrave_settings,
    interleaved_ways,
    other_ways,
)
from preprocess.advice.pareto import pareto_front
from preprocess.advice.rating import RatedWay, rate_way, slower_way
from preprocess.advice.simulate import LeftOutWay, simulate_way
from preprocess.advice.ways import Way, edit_of
from preprocess.errors import wrong
from preprocess.marking.checks.extrapolation import beyond_graded
from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.passes.interleave.interleave import Form

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.marking.evenness.objective import Objective
    from preprocess.model.bench.filament import Window
    from preprocess.model.bench.machine import Machine

SIMULATION_COUNT = 8
"""About how many ways are simulated."""

_HOT, _COLD, _SEAM, _HOT_AT_WORST, _BEYOND = 1.03, 0.95, 0.05, 1.1, 0.005
"""How even a job has to be for it to be left alone. Colder places may make up half a per cent."""

_FAINT = "a colour would leave no mark at its power"


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceLimits:
    """Limits set by the person: colour layers, bars, seconds, and what no cell was graded for."""

    layers: int | None = None
    bars: bool = True
    time: float | None = None
    beyond_graded: bool = False

    def keep(self, one: RatedWay) -> bool:
        """Test whether a way keeps within the limits."""
        found = one.objective
        return not (
            (self.layers is not None and found.layers > self.layers)
            or (self.time is not None and found.time > self.time)
            or (not self.bars and one.way.bars)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Result of the advice.

    `given` is the recipe as it stands, and `best` the ways that no other beats, best first;
    `alone` says that it is even enough to be left as it is, so that no other was tried.
    """

    calibrated: bool
    window: Window
    trust: str
    alone: bool
    given: RatedWay
    best: tuple[RatedWay, ...]
    left_out: tuple[LeftOutWay, ...]
    limits: AdviceLimits

    @property
    def helps(self) -> bool:
        """True if anything is better than the recipe as it stands."""
        return bool(self.best) and self.best[0].key < self.given.key


def compare_ways(job: AdviceRequest, limits: AdviceLimits, tell: Callable[[], None]) -> Advice:
    """Compare ways to mark a design; `tell` is called before each simulation.

    Raises:
        UserError: nothing can be predicted, or no way keeps within the limits.
    """
    return _Search(job, limits, tell).advice()


class _Search:
    """One search, and what it has left out so far."""

    def __init__(self, job: AdviceRequest, limits: AdviceLimits, tell: Callable[[], None]) -> None:
        self.job, self.tell = job, tell
        self.limits = _within(limits, job.loaded.bench.machine_or_default)
        self.left_out: list[LeftOutWay] = []

    def advice(self) -> Advice:
        trial = self._given()
        given = rate_way(trial)
        alone = may_be_left_alone(given.objective) and self.limits.keep(given)
        tried = [] if alone else list(self._rated(trial))
        kept = [one for one in [given, *tried] if self.limits.keep(one)]
        if not kept:
            raise wrong("no way that was tried keeps within the limits", _allow(given))
        worst = given.key[0] if self.limits.keep(given) else math.inf
        kept = [one for one in kept if one.key[0] <= worst]
        best = [kept[n] for n in pareto_front([one.key for one in kept])]
        return Advice(
            calibrated=trial.heat.calibrated,
            window=trial.heat.window,
            trust=trial.heat.trust,
            alone=alone,
            given=given,
            best=tuple(best),
            left_out=tuple(self.left_out),
            limits=self.limits,
        )

    def _given(self) -> Simulation:
        self.tell()
        found = simulate_way(self.job, Way(given=True))
        if isinstance(found, LeftOutWay):
            raise wrong(f"the recipe does not run: {found.why}", "see evenmark check")
        engrave_settings(found)
        if not any(patch.lit.any() for patch in found.heat.images):
            raise wrong("nothing is engraved on the part", "see evenmark check")
        return found

    def _rated(self, given: Simulation) -> Iterator[RatedWay]:
        plain = Way(one_layer=can_be_one_layer(self.job, given))
        ways = [way for way in self._interleaved(given, plain) if self._may(way, given)]
        found = list(self._all(ways))
        yield from found
        passes = self.job.loaded.recipe.passes
        if given.heat.calibrated or passes != edit_of(plain, passes).passes:
            yield from self._all([plain])
        if not found:
            bars = self.limits.bars and bool(given.artwork.parts)
            yield from self._all(other_ways(bars=bars))

    def _interleaved(self, given: Simulation, plain: Way) -> Iterator[Way]:
        colours = colours_left(given, self.limits.layers)
        for way in interleaved_ways(self.job, given, colours, plain):
            if isinstance(way, LeftOutWay):
                self.left_out.append(way)
            else:
                yield way

    def _may(self, way: Way, given: Simulation) -> bool:
        """False for own rows of a graded filament: none of its cells were marked so."""
        guess = way.form is Form.OWN_ROWS and given.heat.calibrated
        if guess and not self.limits.beyond_graded:
            self.left_out.append(LeftOutWay(way=way, why=OWN_ROWS_UNGRADED))
            return False
        return True

    def _all(self, ways: Iterator[Way] | list[Way]) -> Iterator[RatedWay]:
        for way in ways:
            one = self._tried(way)
            if one is not None and not one.shows:
                self.left_out.append(LeftOutWay(way=one.way, why=_FAINT))
            elif one is not None:
                yield one

    def _tried(self, way: Way) -> RatedWay | None:
        self.tell()
        found = simulate_way(self.job, way)
        if isinstance(found, LeftOutWay):
            self.left_out.append(found)
            return None
        one = rate_way(found)
        slower = slower_way(one, found)
        if slower is None:
            return one
        tried = self.job.loaded.filament.tried if self.job.loaded.filament else None
        speeds = tried.speed if tried else None
        if beyond_graded(slower.speed, speeds) and not self.limits.beyond_graded:
            self.left_out.append(LeftOutWay(way=slower, why=SPEED_UNGRADED))
            return one
        self.tell()
        again = simulate_way(self.job, slower)
        return one if isinstance(again, LeftOutWay) else rate_way(again)


def may_be_left_alone(found: Objective) -> bool:
    """True where nothing that could be done would be seen."""
    likely = found.likely
    even = likely.hot <= _HOT and likely.seam <= _SEAM and found.worst.hot <= _HOT_AT_WORST
    cold = likely.cold >= _COLD or likely.beyond < _BEYOND
    return even and cold and (likely.outside or 0.0) <= TOLERATED_SHARE


def _within(limits: AdviceLimits, machine: Machine) -> AdviceLimits:
    """No more layers than the machine's software takes."""
    most = machine.max_layers
    known = [number for number in (limits.layers, most) if number is not None]
    return replace(limits, layers=min(known, default=None))


def _allow(given: RatedWay) -> str:
    found = given.objective
    return (
        f"allow more: the recipe as it stands takes {found.time:.1f} s, "
        f"colour layers: {found.layers}"
    )
