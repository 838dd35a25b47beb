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
    from preprocess.arrays import Floats, Integers
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
    _known: dict[int | None, _Struck] = field(default_factory=dict)

    def at(self, image: IndexImage, spot: tuple[float, float]) -> Contributor | None:
        """Largest contributor at a spot of an image (mm on the page); None if negligible."""
        medium = thermal_medium_of(self.bench.filament, self.bench.machine_or_default)
        if image.part not in self._known:
            body = None if image.part is None else self.artwork.parts[image.part]
            found = exposures_of(self.plan, self.schedule, medium.watts, body)
            self._known[image.part] = _struck(found)
        point = change_angle(*spot, 0.0, image.angle)
        return _largest_contributor(self._known[image.part], medium, image, point)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Struck:
    """Exposures of one body in time order, their steps, and their boxes by scan angle.

    A box is left, top, right, bottom in the frame of its angle, mm.
    """

    exposures: tuple[Exposure, ...]
    step: Integers
    begins: Floats
    boxes: Floats
    at_angle: tuple[tuple[float, Integers], ...]

    def of_step(self, step: int) -> list[Exposure]:
        return [self.exposures[number] for number in np.flatnonzero(self.step == step)]

    def before(self, image: IndexImage, point: tuple[float, float], when: float) -> list[Exposure]:
        """Those of other steps that had begun by then and whose box is within reach of a point."""
        here = (self.begins <= when) & (self.step != image.step)
        for angle, numbers in self.at_angle:
            u, v = change_angle(*point, image.angle, angle)
            left, top, right, bottom = self.boxes[numbers].T
            beside = np.maximum(np.maximum(left - u, u - right), 0.0)
            above = np.maximum(np.maximum(top - v, v - bottom), 0.0)
            here[numbers] &= np.hypot(beside, above) < _REACH
        return [self.exposures[number] for number in np.flatnonzero(here)]


def _struck(exposures: tuple[Exposure, ...]) -> _Struck:
    boxes = [(e.start.min(), e.y[0], e.end.max(), e.y[-1]) for e in exposures]
    angles = np.array([exposure.angle for exposure in exposures])
    return _Struck(
        exposures=exposures,
        step=np.array([exposure.step for exposure in exposures], dtype=np.int64),
        begins=np.array([exposure.begins for exposure in exposures], dtype=float),
        boxes=np.array(boxes, dtype=float).reshape(-1, 4),
        at_angle=tuple((a, np.flatnonzero(angles == a)) for a in np.unique(angles).tolist()),
    )


def _largest_contributor(
    struck: _Struck,
    medium: ThermalMedium,
    image: IndexImage,
    point: tuple[float, float],
) -> Contributor | None:
    """Largest contributor among the exposures of one body, at a point of the row frame (mm).

    The time is just after the beam has passed the point last; the part is taken as thick.
    """
    mine = struck.of_step(image.step)
    when = _passed(mine[-1], point) + _SOON
    kelvin: dict[int, float] = {}
    for exposure in (*mine, *struck.before(image, point, when)):
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
