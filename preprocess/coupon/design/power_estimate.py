"""First powers where none is known, from the polymer's softening and decomposition.

Below softening nothing shows; at decomposition the plastic chars. The middle power brings the
geometric mean of the two rises; the others are half and twice as high. The absorbed share of the
light is assumed, so these powers are only a beginning.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.reference_patch import reference_peak
from preprocess.marking.machine.beam import beam_of
from preprocess.marking.solver.thermal_medium import USUAL_POLYMER, known_polymer, thermal_medium_of
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.filament import Reference

if TYPE_CHECKING:
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.bench import Bench

POWER_FACTORS = (0.5, 1.0, 2.0)
"""Powers around an estimate, as factors: the even band is some 1.4 wide."""

_AMBIENT = 25.0
_CHANGES = {
    "PLA": (55.0, 360.0),
    "PETG": (80.0, 415.0),
    "ABS": (100.0, 400.0),
    "ASA": (100.0, 400.0),
    "PA6": (220.0, 425.0),
    "PA12": (178.0, 425.0),
}
"""Softening (of polyamides: melting) and decomposition of polymers, °C, from data sheets."""

_STEP = 0.1
"""Distance of the points at which the patch is computed, mm."""


def estimated_power(bench: Bench, settings: Settings) -> float | None:
    """Share of the rated power at which an 8 mm patch gets half way from softening to char.

    Args:
        bench: machine and filament; None comes back where the machine does not say its watts, or
            the polymer is none of the table: its softening temperature is unknown.
        settings: speed, pitch and direction of the patch; None where one of the first two is open.
    """
    machine, filament = bench.machine_or_default, bench.filament
    if machine.rated_power is None or not (settings.speed and settings.pitch):
        return None
    named = filament.polymer if filament else None
    polymer = known_polymer(named) if named else USUAL_POLYMER
    if polymer is None:
        return None
    patch = Reference(
        power=1.0,
        speed=settings.speed,
        pitch=settings.pitch,
        direction=settings.direction or Direction.ONE_WAY,
    )
    softens, chars = _CHANGES[polymer]
    wanted = float(np.sqrt((softens - _AMBIENT) * (chars - _AMBIENT)))
    peak, _ = reference_peak(
        replace(thermal_medium_of(filament, machine), reference=patch), machine, _STEP
    )
    return beam_of(machine).power(wanted / peak)
