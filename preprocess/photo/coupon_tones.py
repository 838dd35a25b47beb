"""The tones of a coupon from its photos: each photo by itself, then pooled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.grading_order import cell_span
from preprocess.errors import Refusal
from preprocess.findings import warn
from preprocess.geometry.base.normalise import as_area
from preprocess.photo.measured import LeftOut, MeasuredCoupon, MeasuredPlace
from preprocess.photo.srgb import lightness
from preprocess.photo.tone.edge_width import mark_edge
from preprocess.photo.tone.place_tones import (
    SWELL,
    MarkedPlace,
    blade_places,
    place_tone,
    tone_of,
)
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.coupon.design.model import Coupon
    from preprocess.findings import Finding
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.tone.place_tones import PlaceTone

_OF_PHOTO = 0.35
"""Usual error of a tone within one photo, ΔL*."""

_SHARED = 0.2
"""What remains of it however many photos are pooled."""

_MOST_BETWEEN = 1.5
"""Usual standard deviation of a tone between photos, at most, ΔL*."""

_MOST_LEFT_OUT = 0.5
_TINY = 0.01


def coupon_places(coupon: Coupon) -> tuple[MarkedPlace, ...]:
    """The places of a coupon that have a tone: cells, squares beside them, places along blades."""
    shapes = {shape.id: shape for shape in coupon.artwork.shapes}
    found: list[MarkedPlace] = []
    for cell in (*coupon.cells, *coupon.beside):
        areas = [shapes[name].geometry for name in cell.shapes if shapes[name].is_area]
        if not areas:
            continue
        area = as_area(areas)
        if coupon.kind == CouponKind.BLADES:
            taper = cell.size["width"], cell.size["tip"], cell.size["height"]
            found += blade_places(cell.name, area, taper)
        else:
            found.append(MarkedPlace(area, cell.name, None, cell_span(cell)))
    return tuple(found)


def photo_tones(reading: PhotoReading, places: Sequence[MarkedPlace]) -> tuple[PlaceTone, ...]:
    """Tones of all places in one photo.

    Raises:
        Refusal: most of them cannot be seen.
    """
    tones = tuple(place_tone(reading.view, reading.swell, p, reading.inset) for p in places)
    out = [tone for tone in tones if tone.why]
    if len(out) > _MOST_LEFT_OUT * len(tones):
        swell = float(np.abs(reading.swell).max())
        cells = ", ".join(dict.fromkeys(tone.place.cell for tone in out))
        raise Refusal(
            f"{out[0].why}: cells {cells}; the bare plastic differs by {100 * swell:.0f} %, "
            f"{100 * SWELL:.0f} % is the most",
            "turn the part, or move the lamp, and take the photo anew",
        )
    return tones


def pooled_coupon(
    coupon: Coupon, readings: Sequence[PhotoReading], tones: Sequence[Sequence[PlaceTone]]
) -> MeasuredCoupon:
    """The tones of a coupon over all photos; a place that no photo shows well is left out."""
    ground = float(np.exp(np.mean([np.log(max(reading.ground, 1e-4)) for reading in readings])))
    places: list[MeasuredPlace] = []
    left_out: list[LeftOut] = []
    for seen in zip(*tones, strict=True):
        kept = [(tone, r) for tone, r in zip(seen, readings, strict=True) if not tone.why]
        place = seen[0].place
        if kept:
            places.append(_pooled(place, kept, ground))
        else:
            left_out.append(LeftOut(cell=place.cell, at=place.at, why=seen[0].why))
    return MeasuredCoupon(
        coupon=coupon.id,
        ground=float(lightness(ground)),
        photos=tuple(reading.photo for reading in readings),
        places=tuple(places),
        left_out=tuple(left_out),
    )


def photo_disagreements(measured: MeasuredCoupon) -> Iterator[Finding]:
    """A warning where several photos do not show the same tones."""
    spread = float(np.median([place.sd for place in measured.places] or [0.0]))
    if len(measured.photos) > 1 and spread * len(measured.photos) ** 0.5 > _MOST_BETWEEN:
        yield warn(
            "photos-disagree",
            f"the photos differ by {spread * len(measured.photos) ** 0.5:.1f} ΔL* at the same "
            f"places; {digits(_MOST_BETWEEN)} is usual",
            "check that all show this part, in like light, and leave out the odd one",
        )


def _pooled(
    place: MarkedPlace, kept: Sequence[tuple[PlaceTone, PhotoReading]], ground: float
) -> MeasuredPlace:
    ratios = np.array([tone.ln_ratio for tone, _ in kept])
    mean = float(ratios.mean())
    tone = tone_of(mean, ground)
    slope = abs(tone_of(mean + _TINY, ground) - tone) / _TINY
    uneven = [tone.unevenness for tone, _ in kept if tone.unevenness is not None]
    speckle = slope * float(np.mean([tone.speckle for tone, _ in kept]))
    between = slope * float(ratios.std(ddof=1)) if len(ratios) > 1 else 0.0
    own = max(np.hypot(_OF_PHOTO, speckle), between)
    edges = [] if place.at is not None else list(_edges(place, kept))
    return MeasuredPlace(
        cell=place.cell,
        at=place.at,
        span=place.span,
        tone=tone,
        ln_ratio=mean,
        sd=float(np.hypot(_SHARED, own / len(ratios) ** 0.5)),
        unevenness=slope * float(np.mean(uneven)) if uneven else None,
        edge=float(np.mean(edges)) if edges else None,
    )


def _edges(place: MarkedPlace, kept: Sequence[tuple[PlaceTone, PhotoReading]]) -> Iterator[float]:
    for _, reading in kept:
        width = mark_edge(reading.view, place.area)
        if width is not None:
            yield width
