"""The map of tones of a marked part, from its photos, beside the predicted heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import Refusal
from preprocess.photo.libraries import opencv
from preprocess.photo.map_grid import SMOOTH, grid_of, index_map, twice_the_spread
from preprocess.photo.measured import MeasuredJob
from preprocess.photo.srgb import lightness
from preprocess.photo.tone.place_tones import SWELL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.photo.map_grid import MapGrid
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

_FEWEST = 200
"""Values of a map below which nothing can be told."""

_USUAL_NOISE = 0.6
_MOST_GLARE = 0.5


def measured_job(
    name: str,
    digest: str,
    readings: Sequence[PhotoReading],
    drawing: MarkedDrawing,
    job: tuple[Artwork, Bench],
) -> MeasuredJob:
    """Maps of a job: measured tone, predicted index, and index at twice the spread.

    Args:
        name: of the recipe.
        digest: SHA-256 of the drawing that it writes.
        readings: the photos, each laid on the drawing.
        drawing: what was marked.
        job: the artwork as written, and its bench.

    Raises:
        Refusal: hardly anything engraved can be seen.
    """
    grid = grid_of(drawing.areas.bounds)
    index, warm = index_map(*job, grid)
    wider, _ = index_map(*job, grid, spread=twice_the_spread(job[1]))
    maps = np.stack([tone_map(reading, drawing, grid) for reading in readings])
    maps[:, ~(warm & np.isfinite(index) & np.isfinite(wider))] = np.nan
    if np.isfinite(maps).any(axis=0).sum() < _FEWEST:
        raise Refusal(
            "hardly any engraved area is wide enough, lit evenly and past its first rows",
            "photograph a part with areas of 2 mm and more, from nearer, without glare",
        )
    tone = _pooled(maps)
    unseen = ~np.isfinite(tone)
    ground = float(np.exp(np.mean([np.log(max(r.ground, 1e-4)) for r in readings])))
    return MeasuredJob(
        name=name,
        drawing=digest,
        origin=grid.origin,
        step=grid.step,
        ground=float(lightness(ground)),
        photos=tuple(reading.photo for reading in readings),
        tone=tone,
        index=np.where(unseen, np.nan, index),
        wider=np.where(unseen, np.nan, wider),
        noise=_noise(maps),
    )


def tone_map(reading: PhotoReading, drawing: MarkedDrawing, grid: MapGrid) -> Floats:
    """ΔL* on a grid: within marks, away from their edges and from mirrored lamps, else nan."""
    view, cv2 = reading.view, opencv()
    box = (*view.corner, *(view.corner + np.array(view.luminance.shape[::-1]) / view.px))
    inside = view.mask(drawing.areas, box)
    away = cv2.distanceTransform(np.pad(inside, 1).astype(np.uint8), cv2.DIST_L2, 5)[1:-1, 1:-1]
    core = (away > reading.inset * view.px) & ~view.clipped & (reading.swell < SWELL)
    ratio = np.log(np.maximum(view.luminance, 1e-4)) - reading.even
    weight = core.astype(np.float32)
    sigma = SMOOTH * view.px
    total = cv2.GaussianBlur(np.where(core, ratio, 0.0).astype(np.float32), (0, 0), sigma)
    share = cv2.GaussianBlur(weight, (0, 0), sigma)
    soft = total / np.maximum(share, 1e-6)
    pixels = np.floor((grid.places - view.corner) * view.px).astype(int)
    high, wide = core.shape
    x = np.clip(pixels[..., 0], 0, wide - 1)
    y = np.clip(pixels[..., 1], 0, high - 1)
    seen = core[y, x] & (share[y, x] > 0.1)  # noqa: PLR2004 - hardly anything around
    ground = reading.ground
    tone = lightness(ground * np.exp(soft[y, x])) - lightness(ground)
    return np.where(seen, tone, np.nan)


def _pooled(maps: Floats) -> Floats:
    """Mean over the photos, each of which sees its own level a little otherwise."""
    together = np.isfinite(maps).all(axis=0)
    if together.any():
        levels = maps[:, together].mean(axis=1)
        maps = maps - (levels - levels.mean())[:, None, None]
    count = np.isfinite(maps).sum(axis=0)
    total = np.where(np.isfinite(maps), maps, 0.0).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _noise(maps: Floats) -> float:
    """Standard deviation of one value: from several photos, or the usual one."""
    together = np.asarray(np.isfinite(maps).all(axis=0), bool)
    if len(maps) < 2 or together.sum() < _FEWEST:  # noqa: PLR2004 - two photos differ
        return _USUAL_NOISE
    values = maps[:, together]
    off = values - values.mean(axis=1, keepdims=True)
    return float(off.std(axis=0, ddof=1).mean() / len(maps) ** 0.5)
