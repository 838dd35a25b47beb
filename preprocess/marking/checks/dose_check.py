"""A second opinion on the hottest place: its smoothed dose against that of a median place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.checks.arrhenius_dose import smoothed_dose
from preprocess.marking.heat.index_images import first_least_cell, lit_values, weighted_quantile
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of

if TYPE_CHECKING:
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondOpinion:
    """Place of the largest index (mm on the page), and the dose there relative to the median.

    `index` and `dose` are ratios of the hottest place to a median one on the same part. The dose
    rises far more steeply than the index; only its order is to be trusted.
    """

    spot: tuple[float, float]
    index: float
    dose: float | None


def second_opinion(
    heat: HeatIndex, plan: Plan, schedule: Schedule, artwork: Artwork, bench: Bench
) -> SecondOpinion | None:
    """Compare the hottest cell with a median one; None where nothing is lit."""
    images = [image for image in heat.images if image.lit.any()]
    if not images:
        return None
    hot = max(images, key=lambda image: float(image.ranked[image.lit].max()))
    same = [image for image in images if image.part == hot.part]
    middle = weighted_quantile(*lit_values(same), 0.5)
    typical = min(same, key=lambda image: _off(image, middle).min())
    cells = (
        first_least_cell(-hot.ranked, hot.lit),
        first_least_cell(_off(typical, middle), typical.lit),
    )
    body = None if hot.part is None else artwork.parts[hot.part]
    medium = thermal_medium_of(bench.filament, bench.machine_or_default)
    exposures = exposures_of(plan, schedule, medium.watts, body)
    doses = [
        float(smoothed_dose(exposures, medium, [image.place(*cell)], image.angle)[0])
        for image, cell in zip((hot, typical), cells, strict=True)
    ]
    x, y = (grid[cells[0]] for grid in hot.points)
    return SecondOpinion(
        spot=(float(x) - artwork.page.left, float(y) - artwork.page.top),
        index=float(hot.index[cells[0]]) / middle,
        dose=doses[0] / doses[1] if doses[1] > 0 else None,
    )


def _off(image: IndexImage, value: float) -> np.ndarray:
    return np.where(image.lit, np.round(np.abs(image.index - value), 9), np.inf)
