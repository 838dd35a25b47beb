"""The bench of the coupon tests, and coupons made for it."""

from __future__ import annotations

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine

MACHINE = Machine(name="bench galvo", field=(130.0, 90.0), spot=0.06, max_layers=8)

SPOOL = Filament(name="moss-green PETG, spool 7", polymer="PETG")

BENCH = Bench(machine=MACHINE, filament=SPOOL)

SETTINGS = {
    Operation.ENGRAVE: Settings(power=0.3, speed=900.0, pitch=0.1),
    Operation.SCORE: Settings(power=0.2, speed=250.0),
}

PLATE = (60.0, 40.0)


def made(kind="power-speed", bench=BENCH, plate=PLATE, settings=SETTINGS, **asked):
    overrides = CouponOverrides(**asked)
    return build(define(kind, bench, plate=plate, settings=settings, asked=overrides))


def powers(coupon) -> list[float]:
    return list(dict.fromkeys(cell.power for cell in coupon.cells))
