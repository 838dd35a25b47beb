"""The plot of the even band: marks that can be told apart, and every cell within its frame."""

import re
from functools import lru_cache
from itertools import combinations

import numpy as np

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.report.plot import APART, _carried, _side_by_side, even_band_svg
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame
from tests.simulated_users import BELIEVED, MACHINE, PLATE, SPEED, first_coupon, judged, user

PANEL = PlotFrame(
    10,
    10,
    80,
    60,
    PlotAxis(100.0, 1000.0, (), logarithmic=True),
    PlotAxis(0.1, 1.0, (), logarithmic=True),
    upward=True,
)


@lru_cache
def fitted():
    """A row-span coupon first, then one whose cells have the same names and are narrower."""
    settings = {Operation.ENGRAVE: Settings(speed=SPEED, pitch=0.1)}
    wide = define(
        "row-span",
        Bench(machine=MACHINE, filament=BELIEVED),
        plate=PLATE,
        settings=settings,
        asked=CouponOverrides(powers=(0.2, 0.3, 0.4)),
    )
    random = np.random.default_rng(4)
    return fit_filament([judged(d, user(17), random) for d in (wide, first_coupon())], BELIEVED)


def test_marks_never_cover_one_another():
    random = np.random.default_rng(1)
    spots = [(300.0, float(power), 1) for power in random.uniform(0.2, 0.3, 12)]
    placed = _side_by_side(PANEL, spots)
    assert len(placed) == 12
    for (x, y), (a, b) in combinations(placed, 2):
        assert max(abs(x - a), abs(y - b)) >= APART - 1e-6
    heights = [PANEL.y(power) for _, power, _ in sorted(spots)]
    assert [y for _, y in placed] == heights


def test_a_mark_with_room_stands_at_its_place():
    (only,) = _side_by_side(PANEL, [(300.0, 0.3, 0)])
    assert only == (PANEL.x(300.0), PANEL.y(0.3))


def test_rows_as_wide_as_any_cell_are_within_the_plot():
    spans = [cell.size["span"] for t in fitted().trials for cell in build(t.definition).cells]
    assert max(spans) == 24
    drawn = even_band_svg(fitted(), fitted_profile(fitted())).decode()
    span = drawn[drawn.index('id="span"') :]
    ticks = [float(words) for words in re.findall(r">(\d+(?:\.\d+)?)</text>", span)]
    assert 20 in ticks  # a tick between 8 mm and 24 mm; the powers up the side have it as well
    assert ticks.count(20) == 2


def test_a_cell_like_the_patch_stays_at_its_power():
    values = fitted().posterior.mean()[None]
    cell = next(
        one.cell
        for one in fitted().observations.all
        if (one.cell.size["span"], one.cell.speed) == (8, SPEED)
    )
    assert _carried(fitted(), cell, HeatPatch(speed=SPEED), values) == 1
    # half the speed takes less power: P ~ v^n with n between 0.3 and 1.1
    slower = _carried(fitted(), cell, HeatPatch(speed=SPEED / 2), values)
    assert 0.5**1.1 < slower < 0.5**0.3
