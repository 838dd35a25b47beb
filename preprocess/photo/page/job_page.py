"""The page of a measured job: what caused what, three maps, worst places, photos."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.map_grid import smoothed
from preprocess.photo.page.measured_page import measured_page
from preprocess.photo.page.texts import HOW_SURE
from preprocess.photo.page.tone_maps import map_figures
from preprocess.units import fixed, signed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.photo.measured import MeasuredJob
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.reading.picture import PhotoPicture
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

_PLACE = 0.4
"""mm: standard deviation over which a place of about 0.5 mm² is averaged."""


def job_page(
    job: MeasuredJob,
    told: tuple[Sequence[str], Floats],
    photos: Sequence[tuple[PhotoPicture, PhotoReading]],
    drawing: MarkedDrawing,
) -> bytes:
    """The page, UTF-8 HTML that holds all it shows.

    `told` are the sentences of the causes, and the tone that heat adds, ΔL*, rows × columns.
    """
    sentences, heat = told
    return measured_page(
        job,
        photos,
        drawing,
        {},
        kind="Measured part",
        name=job.name,
        sentences=(*sentences, HOW_SURE),
        plots=map_figures(job, heat),
        headings=("place", "from the left", "from the top", "tone ΔL*", "against the middle"),
        rows=worst_places(job, drawing),
        left_out=[],
    )


def worst_places(job: MeasuredJob, drawing: MarkedDrawing) -> list[tuple[str, ...]]:
    """The strongest and the faintest place of about 0.5 mm², with where it lies on the part."""
    tone = smoothed(job.tone, _PLACE / job.step)
    middle = float(np.nanmedian(job.tone))
    sign = 1.0 if middle >= 0 else -1.0
    known = np.where(np.isfinite(tone), np.round(sign * tone, 6), np.nan)
    left, top = (drawing.part if not drawing.part.is_empty else drawing.areas).bounds[:2]
    rows: list[tuple[str, ...]] = []
    for name, number in (("strongest", np.nanargmax(known)), ("faintest", np.nanargmin(known))):
        row, column = np.unravel_index(int(number), known.shape)
        x, y = job.origin[0] + column * job.step - left, job.origin[1] + row * job.step - top
        value = float(tone[row, column])
        figures = signed(value), signed(value - middle)
        rows.append((name, f"{fixed(x)} mm", f"{fixed(y)} mm", *figures))
    return rows
