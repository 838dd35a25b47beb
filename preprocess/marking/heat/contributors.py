"""The step whose residual heat adds most to a hot place besides its own rows."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.heat.superposition import smoothed_rise, visit_times
from preprocess.marking.solver.exposures import Exposure, exposures_of
from preprocess.marking.solver.thermal_medium import ThermalMedium, thermal_medium_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

_REACH = 3.0
"""mm; heat from farther away does not arrive within a job."""

_MATTERS = 0.1
"""Least share of a place's temperature rise from which a contributor is named."""

_SOON = 1e-9
"""s after the beam has passed: the time that is evaluated."""


@dataclass(frozen=True, slots=True)
class Contributor:
    """The step of the plan that heats a place most, as a share of the temperature rise there."""

    step: int
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ContributorSearch:
    """Finds contributors on the bodies of a job; exposures of a body are gathered once."""

    plan: Plan
    schedule: Schedule
    artwork: Artwork
    bench: Bench
    _known: dict[int | None, tuple[Exposure, ...]] = field(default_factory=dict)

    def at(self, image: IndexImage, spot: tuple[float, float]) -> Contributor | None:
        """Largest contributor at a spot of an image (mm on the page); None if negligible."""
        medium = thermal_medium_of(self.bench.filament, self.bench.machine_or_default)
        if image.part not in self._known:
            body = None if image.part is None else self.artwork.parts[image.part]
            found = exposures_of(self.plan, self.schedule, medium.watts, body)
            self._known[image.part] = found
        point = change_angle(*spot, 0.0, image.angle)
        return largest_contributor(self._known[image.part], medium, image, point)


def largest_contributor(
    exposures: Sequence[Exposure],
    medium: ThermalMedium,
    image: IndexImage,
    point: tuple[float, float],
) -> Contributor | None:
    """Largest contributor among the exposures of one body, at a point of the row frame (mm).

    The time is just after the beam has passed the point last; the part is taken as thick.
    """
    mine = [exposure for exposure in exposures if exposure.step == image.step]
    when = _passed(mine[-1], point) + _SOON
    kelvin: dict[int, float] = {}
    for exposure in (*mine, *_before(exposures, image, point, when)):
        rise = float(smoothed_rise([exposure], medium, point, image.angle, np.array([when]))[0])
        kelvin[exposure.step] = kelvin.get(exposure.step, 0.0) + rise
    total = sum(kelvin.values())
    del kelvin[image.step]
    if not kelvin or total <= 0:
        return None
    step = max(kelvin, key=lambda one: kelvin[one])
    share = kelvin[step] / total
    return Contributor(step, share) if share >= _MATTERS else None


def _passed(exposure: Exposure, point: tuple[float, float]) -> float:
    u, v = point
    runs = np.flatnonzero(exposure.row == np.argmin(np.abs(exposure.y - v)))
    away = np.abs(np.clip(u, exposure.start[runs], exposure.end[runs]) - u)
    return float(visit_times(exposure, u)[runs[np.argmin(away)]])


def _before(
    exposures: Sequence[Exposure], image: IndexImage, point: tuple[float, float], when: float
) -> Iterator[Exposure]:
    for exposure in exposures:
        if exposure.step == image.step or exposure.begins > when:
            continue
        u, v = change_angle(*point, image.angle, exposure.angle)
        beside = max(exposure.start.min() - u, u - exposure.end.max(), 0.0)
        above = max(exposure.y[0] - v, v - exposure.y[-1], 0.0)
        if np.hypot(beside, above) < _REACH:
            yield exposure
