"""From a job to advice: leave it alone, or interleave, and only then bars and zones."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.advice.candidates import (
    OWN_ROWS_UNGRADED,
    SPEED_UNGRADED,
    across_way,
    can_be_one_layer,
    colours_left,
    engrave_settings,
    interleaved_ways,
    other_ways,
    turned_way,
    wider_way,
)
from preprocess.advice.lines import GREYS, meets_a_line
from preprocess.advice.pareto import pareto_front
from preprocess.advice.rating import RatedWay, lower_speed, rank_of, rate_way
from preprocess.advice.simulate import LeftOutWay, simulate_way, slowed
from preprocess.advice.ungraded import ungraded_why
from preprocess.advice.ways import Way, edit_of
from preprocess.engine.progress import StepMemory
from preprocess.errors import wrong
from preprocess.marking.checks.extrapolation import slowest_graded
from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.passes.interleave.interleave import Form

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.advice.ungraded import Ungraded
    from preprocess.marking.evenness.objective import Objective
    from preprocess.model.bench.filament import Window
    from preprocess.model.bench.machine import Machine

SIMULATION_COUNT = 8
"""About how many ways are simulated."""

_HOT, _COLD, _SEAM, _HOT_AT_WORST, _BEYOND = 1.03, 0.95, 0.05, 1.1, 0.005
"""How even a job has to be for it to be left alone. Colder places may make up half a per cent."""

_FEW = 2
"""Colours that nobody minds typing in."""

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
    `alone` says that it is even enough to be left as it is, so that no other was tried. `pitch` is
    in mm, and `colours` are free for the rounds of one layer.
    """

    calibrated: bool
    window: Window
    trust: str
    alone: bool
    pitch: float
    colours: int
    given: RatedWay
    best: tuple[RatedWay, ...]
    left_out: tuple[LeftOutWay, ...]
    limits: AdviceLimits

    @property
    def helps(self) -> bool:
        """True if anything is better than the recipe as it stands."""
        first = rank_of(self.given, self.pitch)
        return bool(self.best) and rank_of(self.best[0], self.pitch) < first


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
        self.speed: float | None = None
        self.memory = StepMemory()

    def advice(self) -> Advice:
        trial = self._given()
        given = rate_way(trial)
        pitch = engrave_settings(trial).pitch or 0.1
        alone = may_be_left_alone(given.objective) and self.limits.keep(given)
        plain = Way(one_layer=can_be_one_layer(self.job, trial))
        colours = colours_left(trial, self.limits.layers, one_layer=plain.one_layer)
        tried = [] if alone else list(self._rated(trial, given, (plain, colours, pitch)))
        kept = [one for one in [given, *tried] if self.limits.keep(one)]
        if not kept:
            raise wrong("no way that was tried keeps within the limits", _allow(given))
        worst = given.key[0] if self.limits.keep(given) else math.inf
        kept = [one for one in kept if one.key[0] <= worst]
        front = [kept[n] for n in pareto_front([one.key for one in kept])]
        best = sorted(front, key=lambda one: rank_of(one, pitch))
        return Advice(
            calibrated=trial.heat.calibrated,
            window=trial.heat.window,
            trust=trial.heat.trust,
            alone=alone,
            pitch=pitch,
            colours=colours,
            given=given,
            best=tuple(best),
            left_out=tuple(self.left_out),
            limits=self.limits,
        )

    def _given(self) -> Simulation:
        self.tell()
        found = simulate_way(self.job, Way(given=True), self.memory)
        if isinstance(found, LeftOutWay):
            raise wrong(f"the recipe does not run: {found.why}", "see evenmark check")
        engrave_settings(found)
        if not any(patch.lit.any() for patch in found.heat.images):
            raise wrong("nothing is engraved on the part", "see evenmark check")
        return found

    def _rated(
        self, trial: Simulation, given: RatedWay, about: tuple[Way, int, float]
    ) -> Iterator[RatedWay]:
        plain, colours, pitch = about
        found: list[RatedWay] = []
        for way in interleaved_ways(self.job, trial, colours, plain):
            if isinstance(way, LeftOutWay):
                self.left_out.append(way)
            elif self._may(way, trial):
                found += self._tried(way, trial, given)
        if self._lacks(found, pitch):
            found += self._turned(found, trial, given, pitch)
        if self._lacks(found, pitch):
            best = min(found, key=lambda one: rank_of(one, pitch))
            wider = wider_way(best.way, self.job, colours)
            found += self._tried(wider, trial, given) if wider else ()
        found += self._across(found, trial, given, colours)
        yield from found
        passes = self.job.loaded.recipe.passes
        if trial.heat.calibrated or passes != edit_of(plain, passes).passes:
            ways = self._tried(plain, trial, given)
            yield from (one for one in ways if (one.key, one.powers) != (given.key, given.powers))
        if not found:
            bars = self.limits.bars and bool(trial.artwork.parts)
            for way in other_ways(bars=bars):
                yield from self._tried(way, trial, given)

    def _across(
        self, found: list[RatedWay], trial: Simulation, given: RatedWay, colours: int
    ) -> tuple[RatedWay, ...]:
        """Greys with their rows across, where those along them are less even than greys can be."""
        for one in found:
            way = across_way(one.way, engrave_settings(trial), colours)
            if way is not None and not GREYS.is_met(one.objective):
                return self._tried(way, trial, given)
        return ()

    def _lacks(self, found: Sequence[RatedWay], pitch: float) -> bool:
        """True if some way is interleaved, and none is as even as rounds should be."""
        return bool(found) and not any(meets_a_line(one.objective, pitch) for one in found)

    def _turned(
        self, found: Sequence[RatedWay], trial: Simulation, given: RatedWay, pitch: float
    ) -> tuple[RatedWay, ...]:
        """The best of them with its rows turned, and where that is even, in two colours too."""
        rows = [one for one in found if one.way.form is not None]
        if not rows:
            return ()
        best = min(rows, key=lambda one: rank_of(one, pitch)).way
        turned = turned_way(best, trial)
        first = self._tried(turned, trial, given) if turned else ()
        if turned is None or self._lacks(first, pitch):
            return first
        few = [one.way for one in rows if one.way.form is best.form and one.way.colours == _FEW]
        if best in few:
            return first
        others = (self._tried(replace(way, angle=turned.angle), trial, given) for way in few)
        return first + tuple(one for each in others for one in each)

    def _may(self, way: Way, given: Simulation) -> bool:
        """False for own rows of a graded filament of which no own rows were graded."""
        filament = self.job.loaded.filament
        known = filament is not None and filament.own_rows is not None
        guess = way.form is Form.OWN_ROWS and given.heat.calibrated and not known
        if guess and not self.limits.beyond_graded:
            self.left_out.append(LeftOutWay(way=way, why=OWN_ROWS_UNGRADED))
            return False
        return True

    def _tried(self, way: Way, trial: Simulation, given: RatedWay) -> tuple[RatedWay, ...]:
        """The way with its powers, if it can be marked, shows, and no cap speaks against it."""
        found = self._simulated(way, trial)
        if found is None:
            return ()
        speed, wished = lower_speed(found, self._slowest()), lower_speed(found, 0.0)
        if wished is not None and wished != speed:
            why = LeftOutWay(way=replace(found.way, speed=wished), why=SPEED_UNGRADED)
            self.left_out.append(why)
        if speed is not None:
            self.speed = speed
            self.tell()
            found = slowed(found, speed)
        one = rate_way(found)
        beyond = _beyond(one, given)
        if not one.shows:
            self.left_out.append(LeftOutWay(way=one.way, why=_FAINT))
        elif beyond and not self.limits.beyond_graded:
            self.left_out.append(LeftOutWay(way=one.way, why=ungraded_why(beyond)))
        else:
            return (one,)
        return ()

    def _simulated(self, way: Way, trial: Simulation) -> Simulation | None:
        passes = self.job.loaded.recipe.passes
        if way == Way() and edit_of(way, passes).passes == passes:
            return replace(trial, way=way)
        self.tell()
        speed = self.speed if way.form is not None else None
        found = simulate_way(self.job, way, self.memory, speed)
        if isinstance(found, LeftOutWay):
            self.left_out.append(found)
            return None
        return found

    def _slowest(self) -> float:
        """The slowest speed that graded cells resemble, mm/s; 0 where none has to."""
        tried = self.job.loaded.filament.tried if self.job.loaded.filament else None
        graded = tried.speed if tried else None
        return 0.0 if graded is None or self.limits.beyond_graded else slowest_graded(graded)


def _beyond(one: RatedWay, given: RatedWay) -> tuple[Ungraded, ...]:
    """What of a way no graded cell had, though the recipe as it stands keeps to the graded."""
    known = {use.what for use in given.ungraded}
    if one.way.bars:
        known.discard("row span")
    return tuple(use for use in one.ungraded if use.what not in known)


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
