"""Simulated users: filaments whose true figures are known, judged with noise and mistakes.

Each of them marks two coupons of 12 cells, the second one as `fit` proposes it. How hot the cells
get is summed up plainly over all runs (`marking.superposition`), with another conductivity than
the fit believes in. A third of the filaments are not like the model: char feeds on heat that has
gathered over more rows than the index feels, power goes with another exponent of speed, or the
judge drifts, both along each table and from one coupon to the next.

    python -m tests.simulated_users 180 1000
    python -m tests.simulated_users 180 1000 2.5

runs 180 of them, numbered from 1000 on; the second line with 2.5 times the drift and the char.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from multiprocessing import get_context

import numpy as np

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_artwork
from preprocess.calibrate.heat.sample_points import sample_points
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.design.model import Grade
from preprocess.coupon.paper.grading_order import grading_order
from preprocess.errors import UserError
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.heat.superposition import smoothed_rise
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine

MACHINE = Machine(name="bench galvo", spot=0.08, turnaround=1.2e-3, fly_back=2500.0, rated_power=5)
BELIEVED = Filament(name="moss-green PETG", polymer="PETG")
SPEED = 600.0
JUDGED_AT = 300.0, 420.0, 600.0
PLATE = 60.0, 40.0
MISTAKES = 0.03
GATHERED = 4.0
"""How much further char gathers heat than the mark does, as a factor on its spread."""
BREAKS = "exponent", "drift", "char"
WARNINGS = {"grades-unsteady", "does-not-fit", "judge-drifts", "open-end", "no-even-cell"}


@dataclass(frozen=True)
class User:
    """A filament and the person who judges it; logarithms of heat."""

    seed: int
    kind: str
    filament: Filament
    correction: float
    half: float
    beyond: float
    noise: float
    power: float
    drift: float = 0.0
    turn: float = 0.0
    char: float = 0.0

    @property
    def middle(self) -> float:
        return alone(self.filament, SPEED) + float(np.log(self.power))

    @property
    def charring(self) -> Filament:
        """Char comes of heat that has gathered over more rows than the mark itself feels."""
        return replace(self.filament, spread=GATHERED * self.filament.spread)

    @property
    def onset(self) -> float:
        """Gathered heat from which on char feeds on itself: in the upper half of even."""
        return alone(self.charring, SPEED) + float(np.log(self.power)) + self.half / 2

    def band(self, speed: float) -> tuple[float, float, float]:
        """True powers (logarithms) at which even begins, is half way, and ends."""
        shift = self.correction * np.log(speed / SPEED)
        heat = alone(self.filament, speed) + shift
        gathered = alone(self.charring, speed) + shift if self.char else -np.inf
        low, high = (
            self._power(self.middle + end, heat, gathered) for end in (-self.half, self.half)
        )
        return low, (low + high) / 2, high

    def _power(self, seen: float, heat: float, gathered: float) -> float:
        """Logarithm of the power at which a patch looks so, from its heats at full power."""
        plain = seen - heat
        if not self.char or plain + gathered <= self.onset:
            return plain
        return (seen - heat + self.char * (self.onset - gathered)) / (1 + self.char)

    def seen(self, heat, gathered, speed):
        """Logarithm of what the mark looks like."""
        shift = self.correction * np.log(speed / SPEED)
        return heat + shift + self.char * np.maximum(0, gathered + shift - self.onset)

    def grades(self, seen, random, turn=0.0) -> list[Grade]:
        """What is said of marks, in the order of judging."""
        seen = seen + self.drift * np.linspace(-0.5, 0.5, len(seen)) + self.turn * turn
        seen = seen + random.normal(0, self.noise, len(seen))
        ends = self.middle + np.array([-self.half, self.half, self.half + self.beyond])
        grade = (seen[:, None] > ends).sum(axis=1)
        wrong = random.random(len(seen)) < MISTAKES
        off = np.clip(grade + random.choice([-1, 1], len(seen)), 0, 3)
        return [list(Grade)[n] for n in np.where(wrong, off, grade)]


def user(seed: int, strength: float = 1.0) -> User:
    """Figures spread over what filaments may have; every third one breaks the model.

    `strength` is how many times more drift and char there is than usual; 1 is what is quoted first.
    """
    random = np.random.default_rng(seed)
    kind = BREAKS[seed // 3 % 3] if seed % 3 == 0 else "well-behaved"

    def between(low: float, high: float) -> float:
        return float(np.exp(random.uniform(np.log(low), np.log(high))))

    filament = replace(
        BELIEVED,
        spread=between(0.15, 1.2),
        optical_depth=between(0.015, 0.25),
        conductivity=0.24 * float(np.exp(random.normal(0, 0.15))),
    )
    made = User(
        seed=seed,
        kind=kind,
        filament=filament,
        correction=random.uniform(-0.15, 0.3),
        half=float(np.log(random.uniform(1.2, 1.6)) / 2),
        beyond=random.uniform(0.2, 0.45),
        noise=random.uniform(0.03, 0.08),
        power=between(0.12, 0.6),
    )
    if kind == "exponent":
        return replace(made, correction=random.uniform(0.3, 0.6))
    if kind == "drift":
        drift, turn = random.choice([-1, 1], 2) * random.uniform(0.15, 0.3, 2) * strength
        return replace(made, drift=drift, turn=turn)
    if kind == "char":
        return replace(made, char=random.uniform(0.5, 1.0) * strength)
    return made


def heat_of(artwork, bench, cells) -> np.ndarray:
    """Logarithm of the heat of cells by plain superposition."""
    plan = plan_of(artwork, bench.machine_or_default)
    plastic = thermal_medium_of(
        bench.filament, bench.machine_or_default, thickness=_thickness(bench)
    )
    body = artwork.parts[0] if artwork.parts else None
    struck = exposures_of(plan, schedule_of(plan, bench.machine_or_default), plastic.watts, body)
    outputs = [plan.steps[strike.step].output.id for strike in struck]
    found = []
    for layer, outline in cells:
        mine = [n for n, output in enumerate(outputs) if output == layer]
        rises = [
            smoothed_rise(
                struck[: p.strike + 1], plastic, (p.u, p.v), p.angle, np.array(p.times)
            ).max()
            for p in sample_points(struck, mine, outline)
        ]
        found.append(np.log(np.median(rises)))
    return np.array(found)


def _thickness(bench):
    return bench.parts[0].thickness if bench.parts else None


@lru_cache(maxsize=4096)
def alone(filament: Filament, speed: float) -> float:
    """The same of an 8 mm patch at full power."""
    artwork = patch_artwork(HeatPatch(speed=speed))
    bench = Bench(machine=MACHINE, filament=filament)
    return float(heat_of(artwork, bench, [("patch", artwork.shapes[0].geometry)])[0])


def first_coupon():
    """Three powers at two speeds: heats that lie between one another."""
    settings = {Operation.ENGRAVE: Settings(speed=SPEED, pitch=0.1)}
    asked = CouponOverrides(powers=(0.12, 0.25, 0.5), speeds=(SPEED, SPEED / 2))
    bench = Bench(machine=MACHINE, filament=BELIEVED)
    return define("power-speed", bench, plate=PLATE, settings=settings, asked=asked)


def judged(definition, who: User, random, turn: float = 0.0) -> CouponTrial:
    """Mark a coupon, and grade it."""
    coupon = build(definition)
    shapes = {shape.id: shape.geometry for shape in coupon.artwork.shapes}
    order = grading_order(coupon)
    cells = [(c.layer, union([shapes[name] for name in c.shapes])) for c in order]

    def heat(filament: Filament) -> np.ndarray:
        return heat_of(coupon.artwork, replace(coupon.bench, filament=filament), cells)

    plain = heat(who.filament)
    gathered = heat(who.charring) if who.char else plain
    seen = who.seen(plain, gathered, np.array([c.speed for c in order]))
    grades = who.grades(seen, random, turn)
    held = {cell.name: (grade,) for cell, grade in zip(order, grades, strict=True)}
    return CouponTrial(coupon=coupon.id, grades=held, definition=definition)


@dataclass(frozen=True)
class Outcome:
    """What the fit of one user is worth: errors of the band's ends and middle, by speed."""

    kind: str
    cells: int
    errors: tuple[tuple[float, float, float], ...] = ()
    held: tuple[tuple[bool, bool, bool], ...] = ()
    wide: float = 0.0
    told: bool = False
    grid: tuple[float, ...] = ()


def outcome(seed: int, strength: float = 1.0) -> Outcome:
    """Let one user mark, judge, mark what is proposed, judge again."""
    who, random = user(seed, strength), np.random.default_rng([seed, 1])
    trials = [judged(first_coupon(), who, random, -0.5)]
    grid = tuple(full_grid(who, speed, random) - who.band(speed)[1] for speed in JUDGED_AT)
    try:
        found = fit_filament(trials, BELIEVED)
        trials.append(judged(proposed_definition(found, propose_coupon(found)), who, random, 0.5))
        found = fit_filament(trials, BELIEVED)
    except UserError:
        return Outcome(who.kind, 12 * len(trials), told=True, grid=grid)
    errors, held, wide = [], [], []
    for speed in JUDGED_AT:
        band = found.band(HeatPatch(speed=speed))
        ends = [found.posterior.interval(band[:, n]) for n in range(3)]
        errors.append(tuple(end[1] - true for end, true in zip(ends, who.band(speed), strict=True)))
        held.append(
            tuple(e[0] <= true <= e[2] for e, true in zip(ends, who.band(speed), strict=True))
        )
        wide.append(ends[1][2] - ends[1][0])
    told = any(finding.code in WARNINGS for finding in diagnose(found))
    cells = found.observations.cells
    return Outcome(who.kind, cells, tuple(errors), tuple(held), float(np.mean(wide)), told, grid)


def full_grid(who: User, speed: float, random) -> float:
    """Middle of the even cells at a speed, as read from a grid of 10 powers × 10 speeds.

    The column of the nearest speed is read; without an even cell, between weak and heavy ones.
    """
    powers, speeds = np.linspace(0.1, 1.0, 10), np.linspace(150, 1500, 10)
    near = float(speeds[np.argmin(np.abs(np.log(speeds / speed)))])
    heats = [alone(f, near) + np.log(powers) for f in (who.filament, who.charring)]
    grades = [list(Grade).index(g) for g in who.grades(who.seen(*heats, near), random)]
    grades = np.array(grades)
    even = powers[grades == 1]
    if not len(even):
        weak, above = powers[grades == 0], powers[grades > 1]
        even = np.array([weak.max(initial=0.05), above.min(initial=1.0)])
    return float(np.log(even).mean()) + 0.75 * float(np.log(speed / near))


def table(outcomes: list[Outcome]) -> str:
    """The table of docs/use/fit.md."""
    lines = [
        (
            "| filaments | how many | middle within 10 % | ends within 10 % | intervals hold the "
            "truth | width of the middle's interval | told of trouble | full grid: middle within "
            "10 % |"
        ),
        "|---|---|---|---|---|---|---|---|",
    ]
    for name in ("well-behaved", *BREAKS):
        mine = [one for one in outcomes if one.kind == name]
        if not any(one.errors for one in mine):
            continue
        lines.append(f"| {name} | {len(mine)} | {' | '.join(_figures(mine))} |")
    return "\n".join(lines)


def _figures(mine: list[Outcome]) -> list[str]:
    fitted = [one for one in mine if one.errors]
    errors = np.array([one.errors for one in fitted])
    held = np.array([one.held for one in fitted])
    near = np.abs(errors) < np.log(1.1)
    grid = np.abs(np.array([one.grid for one in mine])) < np.log(1.1)
    return [
        _percent(near[:, :, 1].mean()),
        _percent(near[:, :, [0, 2]].mean()),
        _percent(held.mean()),
        f"±{50 * np.mean([one.wide for one in fitted]):.0f} %",
        _percent(np.mean([one.told for one in mine])),
        _percent(grid.mean()),
    ]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def main() -> None:
    """Run the users on both processors, and print the table."""
    given = sys.argv[1:4]
    count, first, strength = (*given, *("180", "1000", "1")[len(given) :])
    seeds = range(int(first), int(first) + int(count))
    asked = partial(outcome, strength=float(strength))
    with get_context("spawn").Pool(2) as pool:
        outcomes = []
        for number, one in enumerate(pool.imap(asked, seeds)):
            outcomes.append(one)
            middle = [round(error[1], 3) for error in one.errors]
            print(
                number, one.kind, middle, f"{one.wide:.2f}", one.told, file=sys.stderr, flush=True
            )
    print(table(outcomes))


if __name__ == "__main__":
    main()
