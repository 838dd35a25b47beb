"""The page of a measured coupon: photo, tones by cell, and along the blades their course."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.page.measured_page import measured_page
from preprocess.photo.page.texts import HOW_SURE
from preprocess.photo.page.tone_plot import blade_plot
from preprocess.units import digits, signed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.coupon.design.model import Coupon
    from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.reading.picture import PhotoPicture
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

_EVERY = 4
"""Places along a blade of which one stands in the table."""


def coupon_page(
    coupon: Coupon,
    measured: MeasuredCoupon,
    photos: Sequence[tuple[PhotoPicture, PhotoReading]],
    drawing: MarkedDrawing,
) -> bytes:
    """The page, UTF-8 HTML that holds all it shows."""
    boxes = {shape.id: shape.geometry.bounds for shape in coupon.artwork.shapes}
    labels = {
        cell.name: (boxes[cell.shapes[0]][0], boxes[cell.shapes[0]][1] + 2.4)
        for cell in (*coupon.cells, *coupon.beside)
    }
    plot = blade_plot(measured)
    return measured_page(
        measured,
        photos,
        drawing,
        labels,
        kind="Measured coupon",
        name=coupon.id,
        sentences=(_summary(measured), HOW_SURE),
        plots=[] if plot is None else [(plot, "Tone along the blades by the span of their rows.")],
        headings=("cell", "row span", "tone ΔL*", "±", "uneven", "edge"),
        rows=tone_rows(measured),
        left_out=[f"{_where(one.cell, one.at)}: {one.why}" for one in measured.left_out],
    )


def tone_rows(measured: MeasuredCoupon) -> list[tuple[str, ...]]:
    """Rows of a table for people: each cell, and of blades some places."""
    places = [p for p in measured.places if p.at is None]
    by_cell: dict[str, list[MeasuredPlace]] = {}
    for place in measured.places:
        if place.at is not None:
            by_cell.setdefault(place.cell, []).append(place)
    for along in by_cell.values():
        places += along[::_EVERY]
    return [
        (
            _where(place.cell, place.at),
            "" if place.span is None else f"{digits(round(place.span, 1))} mm",
            signed(place.tone),
            f"{place.sd:.1f}",
            "" if place.unevenness is None else f"{place.unevenness:.1f}",
            "" if place.edge is None else f"{place.edge:.2f} mm",
        )
        for place in places
    ]


def _where(cell: str, at: float | None) -> str:
    return cell if at is None else f"{cell}, {digits(round(at, 1))} mm along"


def _summary(measured: MeasuredCoupon) -> str:
    tones = np.array([place.tone for place in measured.places])
    if not len(tones):
        return "No cell could be measured."
    way = "lighter" if tones.mean() > 0 else "darker"
    low, high = sorted((abs(tones.min()), abs(tones.max())))
    return (
        f"The marks are {low:.0f} to {high:.0f} L* {way} than the bare plastic, whose L* is "
        f"{measured.ground:.0f}."
    )
