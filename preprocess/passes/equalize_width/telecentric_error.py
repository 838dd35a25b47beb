"""Telecentric error of a field lens: below its focal plane the beam lands outward, unfocused."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely.affinity import scale

if TYPE_CHECKING:
    from preprocess.arrays import Geometries
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class TelecentricError:
    """Lean of the beam, and its radius on a bed `height` mm below the marked surface.

    At a distance x from the optical axis the beam leans by the angle whose tangent is x / f, so
    that on a bed h below the focal plane it lands h x / f farther out (similar triangles). `axis`
    is the point of the page that the optical axis meets, `half_spot` the beam's radius on the bed,
    mm. Without more than an axis the beam is upright and lands where it is aimed.
    """

    axis: tuple[float, float]
    height: float = 0.0
    focal_length: float = math.inf
    half_spot: float = 0.0

    def shift(self, distance: float) -> float:
        """Outward shift, mm, of a beam aimed `distance` mm from the axis."""
        return self.height * distance / self.focal_length

    def landed(self, bars: Geometries) -> Geometries:
        """Light of bars on the bed: spread about the optical axis."""
        factor = 1 + self.shift(1.0)
        landed = [scale(bar, factor, factor, origin=self.axis) for bar in bars]
        return np.array(landed, dtype=object)


def telecentric_error_of(bench: Bench, axis: tuple[float, float]) -> TelecentricError:
    """The slant on this bench; an upright beam without a focal length or a height above the bed.

    The bars light the bed while the surface of the part is in focus; the highest part counts.
    """
    height = max((part.height for part in bench.parts), default=0.0)
    machine = bench.machine_or_default
    if machine.focal_length is None or height == 0.0:
        return TelecentricError(axis=axis)
    return TelecentricError(
        axis=axis,
        height=height,
        focal_length=machine.focal_length,
        half_spot=beam_radius(machine.spot or 0.0, machine.wavelength, height),
    )


def beam_radius(spot: float, wavelength: float | None, away: float) -> float:
    """Radius in mm of a Gaussian beam `away` mm from its focus; at focus it is spot / 2.

    w(z) = w0 √(1 + (z / zR)²) with zR = π w0² / λ (ISO 11146-1, beam quality M² = 1). Without a
    wavelength the spread is unknown, and the radius at focus is returned.
    """
    waist = spot / 2
    if wavelength is None or waist == 0.0:
        return waist
    return waist * math.hypot(1.0, away * wavelength / (math.pi * waist**2))
