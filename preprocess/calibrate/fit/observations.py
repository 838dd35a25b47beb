"""Observations: each grade of each judge with the heat of its cell."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER, OrdinalRegression
from preprocess.calibrate.heat.cell_heat import cell_heat
from preprocess.coupon.artwork.build import build
from preprocess.coupon.paper.grading_order import HEAT_KINDS, grading_order
from preprocess.geometry.overlay.booleans import union

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.ordinal_model import ToldByTones
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.coupon.design.model import Cell, Coupon
    from preprocess.model.bench.filament import Filament


@dataclass(frozen=True, slots=True)
class Observation:
    """One grade of one cell by one judge, 0 for weak to 3 for molten.

    `place` is the cell's place in its table, `turn` the coupon's among all, from -0.5 to 0.5.
    `heat` and `spike` are coefficients as in `HeatResponse`.
    """

    coupon: str
    cell: Cell
    grade: int
    place: float
    turn: float
    heat: Floats
    spike: Floats


@dataclass(frozen=True, slots=True)
class Observations:
    """All observations; `without_heat` are coupons that are not graded by heat."""

    all: tuple[Observation, ...]
    without_heat: tuple[str, ...]

    @property
    def cells(self) -> int:
        """Number of graded cells."""
        return len({(one.coupon, one.cell.name) for one in self.all})

    @property
    def counts(self) -> dict[str, int]:
        """Number of observations by grade."""
        found = Counter(GRADE_ORDER[one.grade] for one in self.all)
        return {grade: found[grade] for grade in GRADE_ORDER}

    @property
    def speeds(self) -> tuple[float, ...]:
        """Speeds at which cells were graded, mm/s."""
        return tuple(sorted({one.cell.speed for one in self.all}))

    @property
    def middle(self) -> float:
        """The middle speed, mm/s."""
        return float(np.sqrt(self.speeds[0] * self.speeds[-1]))

    def regression(self, told: ToldByTones | None = None) -> OrdinalRegression:
        """The model of these grades, after what tones have told."""
        return OrdinalRegression(
            index=np.array([one.heat for one in self.all]),
            spike=np.array([one.spike for one in self.all]),
            speed=np.log(np.array([one.cell.speed for one in self.all]) / self.middle),
            order=np.array([one.place for one in self.all]),
            turn=np.array([one.turn for one in self.all]),
            grade=np.array([one.grade for one in self.all]),
            told=told,
        )


def collect_observations(trials: Sequence[CouponTrial], filament: Filament) -> Observations:
    """Build each coupon again, and compute the heat of its graded cells."""
    by_heat = [trial for trial in trials if trial.definition.kind in HEAT_KINDS]
    others = tuple(trial.coupon for trial in trials if trial not in by_heat)
    turns = zip(by_heat, _spread_out(len(by_heat)), strict=True)
    return Observations(
        tuple(one for trial, turn in turns for one in _of(trial, turn, filament)), others
    )


def _spread_out(count: int) -> list[float]:
    """From -0.5 for the first to 0.5 for the last; 0 for the only one."""
    return [float(at) for at in np.linspace(-0.5, 0.5, count)] if count > 1 else [0.0] * count


def _of(trial: CouponTrial, turn: float, filament: Filament) -> Iterator[Observation]:
    coupon = build(trial.definition)
    cells = [cell for cell in coupon.cells if trial.grades.get(cell.name)]
    bench = replace(coupon.bench, filament=filament)
    heat = cell_heat(coupon.artwork, bench, [(c.layer, _outline(coupon, c)) for c in cells])
    names = [cell.name for cell in grading_order(coupon)]
    place = dict(zip(names, _spread_out(len(names)), strict=True))
    for cell, index, spike in zip(cells, heat.index, heat.spike, strict=True):
        for grade in trial.grades[cell.name]:
            if np.isfinite(index).all():
                at = GRADE_ORDER.index(str(grade))
                yield Observation(coupon.id, cell, at, place[cell.name], turn, index, spike)


def _outline(coupon: Coupon, cell: Cell) -> MultiPolygon:
    return union([s.geometry for s in coupon.artwork.shapes if s.id in cell.shapes])
