"""Toned places: each measured place of a filament's coupons with the heat that it got."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.heat.cell_heat import place_heat
from preprocess.calibrate.heat.sample_points import USUAL_ROWS
from preprocess.calibrate.tones.heat_table import TABLE_DEPTHS, TABLE_SPREADS
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.coupon.paper.grading_order import HEAT_KINDS
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.bench.filament import Filament

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.calibrate.grades.measured_tones import TonedPlace
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.coupon.design.model import Cell, Coupon
    from preprocess.model.bench.bench import Bench

    _Rows = list[tuple[Cell, TonedPlace]]

BETTER_CONDUCTOR = 1.3
"""Factor on the conductivity at which heat is known too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TonedPlaces:
    """Places with a tone, one entry each.

    `index` holds tables of log heat, places × spreads × depths; `conducting` those where the
    plastic conducts 1.3 times as well. `speed` is the logarithm of mm/s, from the middle speed on.
    `coupon` and `cell` count them; `at` is the place along a blade (mm), 0 for a cell. `tone` and
    its `sd` are ΔL*. `names` are those of the cells: coupon and cell.
    """

    index: Floats
    conducting: Floats
    speed: Floats
    pitch: Floats
    coupon: Integers
    cell: Integers
    at: Floats
    tone: Floats
    sd: Floats
    names: tuple[tuple[str, str], ...]

    def __len__(self) -> int:
        return len(self.tone)

    def only(self, keep: Booleans) -> TonedPlaces:
        """Some of the places."""
        columns = ("index", "conducting", "speed", "pitch", "coupon", "cell", "at", "tone", "sd")
        return replace(self, **{name: getattr(self, name)[keep] for name in columns})


def toned_places(trials: Sequence[CouponTrial], filament: Filament) -> TonedPlaces | None:
    """All places of all trials that were measured; None without any.

    Cells graded molten are left out: tone says no more of heat once the plastic has run.
    """
    found = list(_of_trials(trials, filament))
    if not found:
        return None
    heats = [np.concatenate(held) for held in zip(*(heat for _, _, heat in found), strict=True)]
    rows = [(n, cell, place) for n, (cells, _, _) in enumerate(found) for cell, place in cells]
    known = np.isfinite(heats[0]).all(axis=(1, 2))
    names = list(dict.fromkeys((found[n][1], cell.name) for n, cell, _ in rows))
    speed = np.log([cell.speed for _, cell, _ in rows])
    places = TonedPlaces(
        index=heats[0],
        conducting=heats[1],
        speed=speed - (speed.min() + speed.max()) / 2,
        pitch=np.array([cell.pitch for _, cell, _ in rows]),
        coupon=np.array([number for number, _, _ in rows]),
        cell=np.array([names.index((found[n][1], cell.name)) for n, cell, _ in rows]),
        at=np.array([place.at or 0.0 for _, _, place in rows]),
        tone=np.array([place.tone for _, _, place in rows]),
        sd=np.array([place.sd for _, _, place in rows]),
        names=tuple(names),
    )
    return places.only(known) if known.any() else None


def _of_trials(
    trials: Sequence[CouponTrial], filament: Filament
) -> Iterator[tuple[_Rows, str, tuple[Floats, Floats]]]:
    """Cells with their places, the coupon's name, and both heats, by measured coupon."""
    for trial in trials:
        if trial.tones is None:
            continue
        coupon = build(trial.definition)
        molten = {name for name, said in trial.grades.items() if Grade.MOLTEN in said}
        cells = [cell for cell in coupon.cells if cell.name not in molten]
        whole = trial.definition.kind in HEAT_KINDS
        rows = [
            (cell, place)
            for cell in cells
            for place in trial.tones.places
            if place.cell == cell.name and (place.at is not None or whole)
        ]
        if rows:
            bench = replace(coupon.bench, filament=filament)
            yield rows, coupon.id, (_heat(coupon, rows, bench), _heat(coupon, rows, _faster(bench)))


def _faster(bench: Bench) -> Bench:
    """The bench with plastic that conducts better."""
    medium = thermal_medium_of(bench.filament, bench.machine_or_default)
    conductivity = 1000 * medium.solid.conductivity * BETTER_CONDUCTOR
    filament = bench.filament or Filament(name="unknown filament")
    return replace(bench, filament=replace(filament, conductivity=conductivity))


def _heat(coupon: Coupon, rows: _Rows, bench: Bench) -> Floats:
    """Tables of the heat of each row."""
    found: list[Floats] = []
    for cell in dict.fromkeys(cell.name for cell, _ in rows):
        mine = [(held, place) for held, place in rows if held.name == cell]
        found.append(_of_cell(coupon, mine, bench))
    return np.concatenate(found)


def _of_cell(coupon: Coupon, rows: _Rows, bench: Bench) -> Floats:
    """Tables of the heat of places along a blade; of a cell's later part where it is measured."""
    cell = rows[0][0]
    outline = _outline(coupon, cell)
    _, top, _, bottom = outline.bounds
    what = (coupon.artwork, bench, (cell.layer, outline))
    along = [place.at for _, place in rows if place.at is not None]
    if len(along) < len(rows):
        whole = place_heat(*what, USUAL_ROWS, (TABLE_SPREADS, TABLE_DEPTHS)).mean(axis=0)
        return np.repeat(whole[None], len(rows), axis=0)
    return place_heat(*what, [at / (bottom - top) for at in along], (TABLE_SPREADS, TABLE_DEPTHS))


def _outline(coupon: Coupon, cell: Cell) -> MultiPolygon:
    return union([s.geometry for s in coupon.artwork.shapes if s.id in cell.shapes])
