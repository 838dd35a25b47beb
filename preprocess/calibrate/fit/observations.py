"""From trials to sightings: each grade with the heat that its cell had."""

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
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.coupon.design.model import Cell, Coupon
    from preprocess.model.bench.filament import Filament


@dataclass(frozen=True, slots=True)
class Observation:
    """One grade of one cell, by one judge."""

    coupon: str
    cell: Cell
    grade: int
    place: float
    """Where the cell stands in its table, from -0.5 for the first to 0.5 for the last."""

    turn: float
    """Where its coupon stands among those that were graded, likewise."""

    heat: Floats
    spike: Floats


@dataclass(frozen=True, slots=True)
class Observations:
    """All of them; `passed_by` are coupons that tell nothing of heat."""

    all: tuple[Observation, ...]
    passed_by: tuple[str, ...]

    @property
    def cells(self) -> int:
        """How many cells were graded."""
        return len({(one.coupon, one.cell.name) for one in self.all})

    @property
    def counts(self) -> dict[str, int]:
        """How often each grade was given."""
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

    def seen(self) -> OrdinalRegression:
        """As arrays for the model."""
        return OrdinalRegression(
            index=np.array([one.heat for one in self.all]),
            spike=np.array([one.spike for one in self.all]),
            speed=np.log(np.array([one.cell.speed for one in self.all]) / self.middle),
            order=np.array([one.place for one in self.all]),
            turn=np.array([one.turn for one in self.all]),
            grade=np.array([one.grade for one in self.all]),
        )


def collect_observations(trials: Sequence[CouponTrial], filament: Filament) -> Observations:
    """Build each coupon again, and find the heat of the cells that were graded."""
    told = [trial for trial in trials if trial.definition.kind in HEAT_KINDS]
    passed = tuple(trial.coupon for trial in trials if trial not in told)
    turns = zip(told, _spread_out(len(told)), strict=True)
    return Observations(
        tuple(one for trial, turn in turns for one in _of(trial, turn, filament)), passed
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
