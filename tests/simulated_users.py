"""Simulated users: filaments whose true figures are known, judged with noise and mistakes.

Each of them marks two coupons of 12 cells, the second one as `fit` proposes it. How hot the cells
get is summed up plainly over all runs (`marking.superposition`), with another conductivity than
the fit believes in. A third of the filaments are not like the model: char feeds on heat, power goes
with another exponent of speed, or the judge drifts.

    python -m tests.simulated_users 60 300

runs 60 of them, numbered from 300 on.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import lru_cache
from multiprocessing import get_context

import numpy as np

from preprocess.coupon.build import build, define
from preprocess.coupon.defaults import Asked
from preprocess.coupon.fit import fit
from preprocess.coupon.fit_doubts import doubts
from preprocess.coupon.fit_patch import Patch, patch_artwork
from preprocess.coupon.fit_points import points_of
from preprocess.coupon.fit_proposal import next_definition, proposal
from preprocess.coupon.grades import Grade
from preprocess.coupon.trials import Trial
from preprocess.errors import UserError
from preprocess.geometry.booleans import union
from preprocess.marking.plan import plan as plan_of
from preprocess.marking.plastic import plastic_of
from preprocess.marking.schedule import schedule as schedule_of
from preprocess.marking.strikes import strikes
from preprocess.marking.superposition import smoothed_rise
from preprocess.model.bench import Bench
from preprocess.model.filament import Filament
from preprocess.model.machine import Machine
from preprocess.model.settings import Operation, Settings

MACHINE = Machine(name="bench galvo", spot=0.08, turnaround=1.2e-3, fly_back=2500.0, rated_power=5)
BELIEVED = Filament(name="moss-green PETG", polymer="PETG")
SPEED = 600.0
JUDGED_AT = 300.0, 420.0, 600.0
PLATE = 60.0, 40.0
MISTAKES = 0.03
BREAKS = "exponent", "drift", "char"
WARNINGS = {"grades-unsteady", "does-not-fit", "open-end", "no-even-cell"}


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
    char: float = 0.0

    @property
    def middle(self) -> float:
        return alone(self.filament, SPEED) + float(np.log(self.power))

    def band(self, speed: float) -> tuple[float, float, float]:
        """True powers (logarithms) at which even begins, is half way, and ends."""
        base = self.middle - alone(self.filament, speed) - self.correction * np.log(speed / SPEED)
        up = self.half
        if self.char:
            from_ = self.half / 2
            up = (self.half + self.char * from_) / (1 + self.char)
        return base - self.half, base + (up - self.half) / 2, base + up

    def grades(self, heat, speed, random) -> list[Grade]:
        seen = heat + self.correction * np.log(speed / SPEED)
        seen = seen + self.char * np.maximum(0, seen - self.middle - self.half / 2)
        seen = seen + self.drift * np.linspace(-0.5, 0.5, len(heat))
        seen = seen + random.normal(0, self.noise, len(heat))
        ends = self.middle + np.array([-self.half, self.half, self.half + self.beyond])
        grade = (seen[:, None] > ends).sum(axis=1)
        wrong = random.random(len(heat)) < MISTAKES
        off = np.clip(grade + random.choice([-1, 1], len(heat)), 0, 3)
        return [list(Grade)[n] for n in np.where(wrong, off, grade)]


def user(seed: int) -> User:
    """Figures spread over what filaments may have; every third one breaks the model."""
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
        return replace(made, drift=random.choice([-1, 1]) * random.uniform(0.15, 0.3))
    return replace(made, char=random.uniform(0.5, 1.0)) if kind == "char" else made


def heat_of(artwork, bench, cells) -> np.ndarray:
    """Logarithm of the heat of cells by plain superposition."""
    plan = plan_of(artwork, bench.machine)
    plastic = plastic_of(bench.filament, bench.machine, thickness=_thickness(bench))
    body = artwork.parts[0] if artwork.parts else None
    struck = strikes(plan, schedule_of(plan, bench.machine), plastic.watts, body)
    outputs = [plan.steps[strike.step].output.id for strike in struck]
    found = []
    for layer, outline in cells:
        mine = [n for n, output in enumerate(outputs) if output == layer]
        rises = [
            smoothed_rise(
                struck[: p.strike + 1], plastic, (p.u, p.v), p.angle, np.array(p.times)
            ).max()
            for p in points_of(struck, mine, outline)
        ]
        found.append(np.log(np.median(rises)))
    return np.array(found)


def _thickness(bench):
    return bench.parts[0].thickness if bench.parts else None


@lru_cache(maxsize=4096)
def alone(filament: Filament, speed: float) -> float:
    """The same of an 8 mm patch at full power."""
    artwork = patch_artwork(Patch(speed=speed))
    bench = Bench(machine=MACHINE, filament=filament)
    return float(heat_of(artwork, bench, [("patch", artwork.shapes[0].geometry)])[0])


def first_coupon():
    """Three powers at two speeds: heats that lie between one another."""
    settings = {Operation.ENGRAVE: Settings(speed=SPEED, pitch=0.1)}
    asked = Asked(powers=(0.12, 0.25, 0.5), speeds=(SPEED, SPEED / 2))
    bench = Bench(machine=MACHINE, filament=BELIEVED)
    return define("power-speed", bench, plate=PLATE, settings=settings, asked=asked)


def judged(definition, who: User, random) -> Trial:
    """Mark a coupon, and grade it."""
    coupon = build(definition)
    shapes = {shape.id: shape.geometry for shape in coupon.artwork.shapes}
    cells = [(c.layer, union([shapes[name] for name in c.shapes])) for c in coupon.cells]
    true = replace(coupon.bench, filament=who.filament)
    heat = heat_of(coupon.artwork, true, cells)
    grades = who.grades(heat, np.array([c.speed for c in coupon.cells]), random)
    names = [cell.name for cell in coupon.cells]
    held = {name: (grade,) for name, grade in zip(names, grades, strict=True)}
    return Trial(coupon=coupon.id, grades=held, definition=definition)


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


def outcome(seed: int) -> Outcome:
    """Let one user mark, judge, mark what is proposed, judge again."""
    who, random = user(seed), np.random.default_rng([seed, 1])
    trials = [judged(first_coupon(), who, random)]
    grid = tuple(full_grid(who, speed, random) - who.band(speed)[1] for speed in JUDGED_AT)
    try:
        found = fit(trials, BELIEVED)
        trials.append(judged(next_definition(found, proposal(found)), who, random))
        found = fit(trials, BELIEVED)
    except UserError:
        return Outcome(who.kind, 12 * len(trials), told=True, grid=grid)
    errors, held, wide = [], [], []
    for speed in JUDGED_AT:
        band = found.band(Patch(speed=speed))
        ends = [found.posterior.interval(band[:, n]) for n in range(3)]
        errors.append(tuple(end[1] - true for end, true in zip(ends, who.band(speed), strict=True)))
        held.append(
            tuple(e[0] <= true <= e[2] for e, true in zip(ends, who.band(speed), strict=True))
        )
        wide.append(ends[1][2] - ends[1][0])
    told = any(finding.code in WARNINGS for finding in doubts(found))
    cells = found.sightings.cells
    return Outcome(who.kind, cells, tuple(errors), tuple(held), float(np.mean(wide)), told, grid)


def full_grid(who: User, speed: float, random) -> float:
    """Middle of the even cells at a speed, as read from a grid of 10 powers × 10 speeds.

    The column of the nearest speed is read; without an even cell, between weak and heavy ones.
    """
    powers, speeds = np.linspace(0.1, 1.0, 10), np.linspace(150, 1500, 10)
    near = float(speeds[np.argmin(np.abs(np.log(speeds / speed)))])
    heat = alone(who.filament, near) + np.log(powers)
    grades = np.array([list(Grade).index(g) for g in who.grades(heat, np.full(10, near), random)])
    even = powers[grades == 1]
    if not len(even):
        weak, above = powers[grades == 0], powers[grades > 1]
        even = np.array([weak.max(initial=0.05), above.min(initial=1.0)])
    return float(np.log(even).mean()) + 0.75 * float(np.log(speed / near))


def table(outcomes: list[Outcome]) -> str:
    """The table of docs/fit.md."""
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
    count, first = (*map(int, sys.argv[1:3]), *(60, 300)[len(sys.argv[1:3]) :])
    with get_context("spawn").Pool(2) as pool:
        outcomes = []
        for number, one in enumerate(pool.imap(outcome, range(first, first + count))):
            outcomes.append(one)
            middle = [round(error[1], 3) for error in one.errors]
            print(
                number, one.kind, middle, f"{one.wide:.2f}", one.told, file=sys.stderr, flush=True
            )
    print(table(outcomes))


if __name__ == "__main__":
    main()
