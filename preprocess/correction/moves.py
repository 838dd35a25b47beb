"""Moves of power: by how much each colour layer's light should change for an even tone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.causes.marked_places import marked
from preprocess.geometry.overlay.booleans import union
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.photo.registering.marked_drawing import swept_area

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.photo.measured import MeasuredJob

GAIN = 0.8
"""Power of the ratio of target to measured: less than 1, since tones are noisy."""

LEAST, MOST = 0.7, 1.4
"""Factors on the light that one round may ask for."""

FAINT = 0.4
"""ΔL* of a layer below which a photo does not tell it from the target."""

WORTH = 0.1
"""Share of heat's unevenness that a correction must take away."""

_FEWEST = 10
"""Values of the map that a layer needs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerTone:
    """What was measured on one colour layer: the tone that heat adds there (ΔL*), and how often.

    `factor` is the light that it should get over that it got.
    """

    output: OutputLayer
    tone: float
    count: int
    factor: float


def light_factors(excess: Floats) -> Floats:
    """Factors on the light, from measured over target heat as a logarithm: (t / m)^0.8, bounded."""
    return np.asarray(np.clip(np.exp(-GAIN * excess), LEAST, MOST))


def layer_tones(
    job: MeasuredJob, heat: Floats, artwork: Artwork, slope: float
) -> tuple[LayerTone, ...]:
    """The tone of heat and the wanted factor of each engraved colour layer that was measured.

    Args:
        job: the measured map.
        heat: what heat adds to the tone, about its median, rows × columns.
        artwork: as it was marked.
        slope: ΔL* for each e-fold of the heat.
    """
    found = []
    for output in output_layers(artwork):
        if output.operation is not Operation.ENGRAVE and not output.in_rounds:
            continue
        here = marked(job) & _on(job, output, artwork)
        if here.sum() < _FEWEST:
            continue
        tone = float(np.mean(heat[here]))
        factor = float(light_factors(np.array(tone / slope))) if abs(tone) >= FAINT else 1.0
        found.append(LayerTone(output=output, tone=tone, count=int(here.sum()), factor=factor))
    return tuple(found)


def moved_heat(
    job: MeasuredJob,
    heat: Floats,
    layers: tuple[LayerTone, ...],
    slope: float,
    artwork: Artwork,
) -> Floats:
    """The tone of heat after the moves, rows × columns: each layer's is shifted as a whole."""
    after = heat.copy()
    for layer in layers:
        here = marked(job) & _on(job, layer.output, artwork)
        after[here] += slope * np.log(layer.factor)
    return after


def _on(job: MeasuredJob, output: OutputLayer, artwork: Artwork) -> Booleans:
    """Values of the map that lie on a layer's areas, rows × columns."""
    rows, columns = job.tone.shape
    left, top = job.origin
    x, y = np.meshgrid(left + job.step * np.arange(columns), top + job.step * np.arange(rows))
    swept = [s for s in output.shapes if s.is_engraved_area or s.round is not None]
    area = union([swept_area(shape, artwork) for shape in swept])
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, x, y))
