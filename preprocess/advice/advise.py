"""From a job to advice: one setting for all first, then the sensible ways, the best in full."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.advice.candidates import (
    candidate_speeds,
    candidate_ways,
    engrave_settings,
    own_powers_alike,
    recipe_sweep,
    shared_power,
)
from preprocess.advice.pareto import pareto_front
from preprocess.advice.rating import RatedWay, estimate_levels, rate_simulation
from preprocess.advice.shortlist import shortlist
from preprocess.advice.simulate import LeftOutWay, simulate_way
from preprocess.advice.ways import Way
from preprocess.errors import wrong
from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.filament import Window
    from preprocess.model.bench.machine import Machine

_MOST = 6
"""Ways that are simulated in full, the recipe as it stands among them."""

SIMULATION_COUNT = 24
"""About how many simulations there are, coarse ones included."""

_LEVELS = 2, 3, 4

_LINES = "lines that are scored already would get the power of the rows"

_POWERS = "rows of our own have one power, and those of an ungraded filament stay as they are"

_BETTER = 0.02
"""Share of the area by which another speed has to be better than the recipe's to be taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceLimits:
    """Limits set by the person: colour layers, bars, seconds."""

    layers: int | None = None
    bars: bool = True
    time: float | None = None

    def keep(self, one: RatedWay) -> bool:
        """Test whether a way keeps within the limits."""
        figures = one.figures
        return not (
            (self.layers is not None and figures.layers > self.layers)
            or (self.time is not None and figures.time > self.time)
            or (not self.bars and one.way.bars)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Result of the comparison.

    `paces` are coarse figures of one speed and power for all, by speed; `one` is the best of them
    in full, None where the machine has no power for it. `given` is the recipe as it stands, and
    `best` the ways that no other beats, best first, all in full.
    """

    calibrated: bool
    window: Window
    trust: str
    paces: tuple[RatedWay, ...]
    one: RatedWay | None
    given: RatedWay
    best: tuple[RatedWay, ...]
    left_out: tuple[LeftOutWay, ...]
    limits: AdviceLimits

    @property
    def helps(self) -> bool:
        """True if anything is better than the recipe as it stands."""
        return bool(self.best) and self.best[0].figures.key < self.given.figures.key


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
        self.bench = job.loaded.bench

    def advice(self) -> Advice:
        given = self._given()
        own = engrave_settings(given)
        calibrated = given.heat.calibrated
        start = Way(
            sweep=recipe_sweep(self.job), power=shared_power(self.job, calibrated=calibrated)
        )
        paces = self._paces(
            start, candidate_speeds(self.job, own.speed or 0.0, calibrated=calibrated)
        )
        base = replace(start, speed=_speed(paces, own.speed))
        pool = [*paces, *self._pool(list(self._ways(given, own, base)))]
        one = self._full(_steadiest(paces, own.speed)) if paces else None
        here = rate_simulation(given, self.bench)
        assert here is not None  # noqa: S101 - its powers are the recipe's
        full = [here, *([one] if one else []), *self._finals(pool, one)]
        kept = [m for m in dict.fromkeys(full) if self.limits.keep(m) and _no_worse(m, here)]
        if not any(self.limits.keep(m) for m in full):
            raise wrong("no way that was tried keeps within the limits", _allow(here))
        return Advice(
            calibrated=calibrated,
            window=given.heat.window,
            trust=given.heat.trust,
            paces=tuple(paces),
            one=one,
            given=here,
            best=tuple(kept[n] for n in pareto_front([m.figures for m in kept])),
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

    def _paces(self, start: Way, wished: Sequence[float]) -> list[RatedWay]:
        """One power for all at each speed, coarse."""
        found = []
        for speed in wished:
            trial = self._tried(replace(start, speed=speed), coarse=True)
            one = None if trial is None else rate_simulation(trial, self.bench)
            found += [one] if one is not None else []
        return found

    def _ways(self, given: Simulation, own: Settings, base: Way) -> Iterator[Way]:
        bars = self.limits.bars and bool(given.artwork.parts)
        scored = any(output.operation is Operation.SCORE for output in given.outputs)
        for way in candidate_ways(self.job, own, base, bars=bars):
            if way.every and scored:
                self.left_out.append(LeftOutWay(way=way, why=_LINES))
            elif way.every and base.power is None and not own_powers_alike(given):
                self.left_out.append(LeftOutWay(way=way, why=_POWERS))
            else:
                yield way

    def _pool(self, wished: Sequence[Way]) -> Iterator[RatedWay]:
        """All ways in coarse figures, those with levels guessed from those without."""
        for way in wished:
            trial = self._tried(way, coarse=True)
            one = None if trial is None else rate_simulation(trial, self.bench)
            if trial is None or one is None:
                continue
            layers = {o.layer for o in trial.outputs if o.settings.pitch and _lit(trial, o.id)}
            counts: tuple[int, ...] = (1, *_LEVELS) if len(layers) > 1 else _LEVELS
            counts = () if way.every else counts
            yield from (one, *(estimate_levels(trial, one, levels) for levels in counts))

    def _finals(self, pool: Sequence[RatedWay], one: RatedWay | None) -> Iterator[RatedWay]:
        """The most promising in full, as many as there may be."""
        left = _MOST - (1 if one is None else 2)
        for way in shortlist([m for m in pool if self.limits.keep(m)], one):
            if not left:
                return
            full = self._full(way)
            left -= full is not None
            yield from [full] if full is not None else []

    def _full(self, one: RatedWay) -> RatedWay | None:
        trial = self._tried(one.way)
        return None if trial is None else rate_simulation(trial, self.bench)

    def _tried(self, way: Way, *, coarse: bool = False) -> Simulation | None:
        self.tell()
        found = simulate_way(self.job, way, coarse=coarse)
        if isinstance(found, LeftOutWay):
            self.left_out.append(found)
            return None
        return found


def _within(limits: AdviceLimits, machine: Machine) -> AdviceLimits:
    """No more layers than the machine's software takes."""
    most = machine.max_layers
    known = [number for number in (limits.layers, most) if number is not None]
    return replace(limits, layers=min(known, default=None))


def _allow(given: RatedWay) -> str:
    figures = given.figures
    return (
        f"allow more: the recipe as it stands takes {figures.time:.1f} s, "
        f"colour layers: {figures.layers}"
    )


def _no_worse(one: RatedWay, given: RatedWay) -> bool:
    """Test whether a way leaves no more area outside the window than the given recipe."""
    return one.figures.key[0] <= given.figures.key[0]


def _lit(trial: Simulation, output: str) -> bool:
    return any(p.output == output and p.lit.any() for p in trial.heat.images)


def _steadiest(paces: Sequence[RatedWay], own: float | None) -> RatedWay:
    """Least area outside, then the greatest margin, then the nearest to the recipe's speed."""

    def key(one: RatedWay) -> tuple[float, float, float]:
        margin = round(one.figures.margin or 0.0, 2)
        return one.figures.key[0], -margin, abs((one.way.speed or 0.0) - (own or 0.0))

    return min(paces, key=key)


def _speed(paces: Sequence[RatedWay], own: float | None) -> float | None:
    """The recipe's speed, unless another leaves clearly less of the area outside."""
    if not paces:
        return None
    best = _steadiest(paces, own)
    mine = [one for one in paces if one.way.speed == own]
    if mine and mine[0].figures.outside <= max(best.figures.outside + _BETTER, TOLERATED_SHARE):
        return None
    return best.way.speed
