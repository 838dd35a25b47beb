"""Constants of the heat model: filament and beam, with defaults for what is unknown.

All defaults stand here. They are middle values of what data sheets and papers give, for ranking
places on one part against one another; only a graded coupon calibrates them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.marking.solver.kernels import Solid
from preprocess.model.bench.filament import Filament, Intervals, OwnRowsReference, Reference, Window
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.model.bench.machine import Machine

UNCALIBRATED = "uncalibrated: ranking only"
"""Remark for every number without a graded patch behind it."""

_SPOT = 0.08
"""Beam diameter, 1/e², mm."""

_OPTICAL_DEPTH = 0.05
"""mm; black plastic 0.01 to 0.04, pale 0.1 to 0.5."""

_ABSORBED = 0.6
"""Share of the light; it cancels in the index."""

_RATED_POWER = 5.0
"""W; it cancels in the index."""

_SPREAD = 0.3
"""Smoothing length of the index, mm."""

USUAL_POLYMER = "PLA"
_POLYMERS = {
    # W/m/K, g/cm³, J/g/K
    "PLA": (0.15, 1.24, 1.8),
    "PETG": (0.24, 1.28, 1.3),
    "ABS": (0.20, 1.05, 1.6),
    "ASA": (0.18, 1.07, 1.6),
    "PA6": (0.27, 1.13, 1.65),
    "PA12": (0.22, 1.01, 1.9),
}
"""Conductivity, density and heat capacity by polymer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalMedium:
    """Filament under one beam, in mm, s, W, J.

    `watts` is the absorbed power at 100 %. `calibrated` says whether the reference patch was
    graded; `assumed` lists the defaults in words. `sure` holds how far the grades leave the
    figures open, where they were fitted. `other_spreads` are those at which peaks are wanted too.
    `own_rows` is the reference of rows drawn as lines.
    """

    solid: Solid
    sigma: float
    spread: float
    watts: float
    reference: Reference
    window: Window
    speed_correction: float = 0.0
    calibrated: bool = False
    assumed: tuple[str, ...] = ()
    sure: Intervals = Intervals()
    other_spreads: tuple[float, ...] = ()
    own_rows: OwnRowsReference | None = None

    @property
    def spreads(self) -> tuple[float, ...]:
        """Every spread at which peaks are wanted, the likely one first, mm."""
        return self.spread, *self.other_spreads

    @property
    def smooth(self) -> float:
        """Variance of the smoothing across the rows: that of a box as long as the spread, mm²."""
        return self.spread**2 / 12


def known_polymer(polymer: str | None) -> str | None:
    """The polymer as the tables name it; capitals, spaces and dashes do not count."""
    plain = "".join(c for c in (polymer or "").upper() if c.isalnum())
    return plain if plain in _POLYMERS else None


def thermal_medium_of(
    filament: Filament | None, machine: Machine, *, thickness: float | None = None
) -> ThermalMedium:
    """Gather what is known; `thickness` of the part in mm where it is known."""
    known = filament or Filament(name="unknown filament")
    assumed: list[str] = []

    def or_else(value: float | None, default: float, text: str) -> float:
        if value is None:
            assumed.append(f"{text} {digits(default)}")
        return default if value is None else value

    polymer = known_polymer(known.polymer) or USUAL_POLYMER
    conductivity, density, heat_capacity = _POLYMERS[polymer]
    source = f"of {polymer}"
    conductivity = or_else(known.conductivity, conductivity, f"conductivity {source}, W/m/K:")
    density = or_else(known.density, density, f"density {source}, g/cm³:")
    heat_capacity = or_else(known.heat_capacity, heat_capacity, f"heat capacity {source}, J/g/K:")
    solid = Solid(
        conductivity=conductivity / 1000,
        capacity=density * heat_capacity / 1000,
        depth=or_else(known.optical_depth, _OPTICAL_DEPTH, "optical depth, mm:"),
        thickness=thickness,
    )
    spot = or_else(machine.spot, _SPOT, "spot, mm:")
    return ThermalMedium(
        solid=solid,
        sigma=spot / 4,
        spread=or_else(known.spread, _SPREAD, "spread, mm:"),
        watts=(machine.rated_power or _RATED_POWER) * (known.absorbed or _ABSORBED),
        reference=known.reference or Reference(),
        window=known.window or Window(),
        speed_correction=known.speed_correction or 0.0,
        calibrated=known.reference is not None and known.window is not None,
        assumed=tuple(assumed),
        sure=known.intervals or Intervals(),
        own_rows=known.own_rows,
    )
