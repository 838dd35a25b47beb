"""What a photo told: tones of a coupon's cells, or the map of tones of a job.

A tone is ΔL*: lightness of the mark less that of the bare plastic beside it; below zero is darker.
Tones of one photo compare well; between two photos they differ by 1 to 2 more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from preprocess.arrays import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One photo that was measured, and how well it served.

    `digest` is the SHA-256 of its file. `edge` is the width of the frame's edges (10 to 90 %) and
    `fit` the rms distance of its markers from where they should be, both mm. `match` is the share
    of `points` on the drawing's outlines at which an edge was found where it belongs.
    """

    name: str
    digest: str
    px_per_mm: float
    edge: float
    fit: float
    markers: int
    match: float
    points: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPlace:
    """The tone of a whole cell, or of one place along a blade.

    `at` is the distance from the wide end of a blade (mm), None for a whole cell; `span` the length
    of the rows there (mm). `tone` is ΔL*, `sd` its standard deviation. `ln_ratio` is the logarithm
    of the luminance over that of the ground within 2 mm. `unevenness` is the standard deviation of
    ΔL* over blocks of 0.5 mm, `edge` the width of the mark's edge (10 to 90 %, mm); None where the
    cell is too small for it.
    """

    cell: str
    at: float | None = None
    span: float | None = None
    tone: float
    ln_ratio: float
    sd: float
    unevenness: float | None = None
    edge: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A cell, or a place of it (`at`, mm), that no photo shows well enough, and why."""

    cell: str
    at: float | None = None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredCoupon:
    """The tones of a coupon, pooled over its photos; `ground` is L* of the bare plastic."""

    coupon: str
    ground: float
    photos: tuple[Photo, ...]
    places: tuple[MeasuredPlace, ...]
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredJob:
    """Maps of a marked part, rows × columns; nan where nothing was marked, or nothing seen.

    `name` is that of the recipe, `drawing` the SHA-256 of the SVG that it writes. `origin` is the
    centre of the first cell of the maps and `step` the distance of two (mm, in the coordinates of
    the artwork: x to the right, y down). `tone` is ΔL*, pooled over the photos, and `noise` the
    standard deviation of one value of it. `index` is the predicted heat index, `wider` that with
    twice the spread of the filament. `ground` is L* of the bare plastic.
    """

    name: str
    drawing: str
    origin: tuple[float, float]
    step: float
    ground: float
    photos: tuple[Photo, ...]
    tone: Floats
    index: Floats
    wider: Floats
    noise: float


Measured: TypeAlias = MeasuredCoupon | MeasuredJob
