"""The reference patch of own rows: the middle of the powers at which they were graded even."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.machine_steps import settable_power
from preprocess.coupon.design.model import CouponKind, Grade
from preprocess.marking.machine.beam import beam_of
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import OwnRowsReference

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.calibrate.grades.trials import CouponTrial


def own_rows_reference(trials: Sequence[CouponTrial]) -> OwnRowsReference | None:
    """The patch by the last coupon of own rows that has an even cell; None where none has.

    Of its widest even blade: the light half way, by factors, between the least and the greatest
    even one.
    """
    for trial in reversed(trials):
        definition, rows = trial.definition, trial.definition.own_rows
        if definition.kind is not CouponKind.OWN_ROWS or rows is None:
            continue
        cells = build(definition).cells
        even = [cell for cell in cells if Grade.EVEN in trial.grades.get(cell.name, ())]
        if not even:
            continue
        widest = max(cell.size["span"] for cell in even)
        powers = [cell.power for cell in even if cell.size["span"] == widest]
        bench = Bench(machine=definition.machine)
        beam = beam_of(bench.machine_or_default)
        middle = float(np.sqrt(beam.light(min(powers)) * beam.light(max(powers))))
        return OwnRowsReference(
            size=(widest, even[0].size["height"]),
            power=settable_power(beam.power(middle), bench),
            speed=even[0].speed,
            pitch=rows.pitch,
            direction=rows.direction,
            rounds=rows.rounds,
        )
    return None
