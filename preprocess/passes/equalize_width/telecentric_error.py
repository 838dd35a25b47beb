"""Telecentric error of a field lens: below its focal plane the beam lands outward, unfocused."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class TelecentricError:
    """Lean of the beam, and its radius on a bed `height` mm below the marked surface.

    At a distance x from the optical axis the beam leans by the angle whose tangent is x / f, so
    that on a bed h below the focal plane it lands h x / f farther out (similar triangles).
    `half_spot` is the beam's radius there, mm.
    """

    height: float
    focal_length: float
    half_spot: float

    def shift(self, distance: float) -> float:
        """Outward shift, mm, of a beam aimed `distance` mm from the axis."""
        return self.height * distance / self.focal_length


def telecentric_error_of(bench: Bench) -> TelecentricError | None:
    """The slant on this bench, or None without a focal length or a height above the bed.

    The bars light the bed while the surface of the part is in focus; the highest part counts.
    """
    height = max((part.height for part in bench.parts), default=0.0)
    machine = bench.machine_or_default
    if machine.focal_length is None or height == 0.0:
        return None
    return TelecentricError(
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
