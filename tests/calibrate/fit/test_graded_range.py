"""The range of settings and sizes that graded cells cover."""

from dataclasses import replace

import pytest

from preprocess.calibrate.fit.graded_range import graded_range
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from tests.calibrate.fits import fitted
from tests.simulated_users import (
    BELIEVED,
    MACHINE,
    SPEED,
    define,
)


def test_graded_tips_and_lines_vouch_for_fine_places_and_gaps_do_not():
    known = fitted(5)
    for kind, fine in (("tip-width", 0.2), ("spot-bleed", 0.05)):
        definition = define(
            kind,
            Bench(machine=MACHINE, filament=BELIEVED),
            plate=(60.0, 40.0),
            settings={Operation.ENGRAVE: Settings(power=0.3, speed=SPEED, pitch=0.1)},
        )
        cells = build(definition).cells
        every = {cell.name: (Grade.EVEN,) for cell in cells}
        gaps = {cell.name: (Grade.EVEN,) for cell in cells if "gap" in cell.size}
        for grades, least in ((every, fine), (gaps, 2.0)):
            trial = CouponTrial(coupon=kind, grades=grades, definition=definition)
            tried = graded_range(replace(known, trials=(*known.trials, trial)))
            if grades:
                assert tried.feature[0] == pytest.approx(least, rel=0.02)
