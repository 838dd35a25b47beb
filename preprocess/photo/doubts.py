"""Doubts: what is told of a photo that serves, but not well."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, warn
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.reading.picture import PhotoPicture

FEW_PX, WIDE_EDGE = 8.0, 0.4
"""Pixels per mm below which, and edges (10 to 90 %, mm) above which a photo is warned of."""

MOST_MISFIT = 0.12
"""rms error of the greys, in logarithms, above which it is warned of."""

MOST_CLIPPED_PAPER = 0.25
"""Share of bare paper as bright as the picture can be above which it is warned of."""


def doubts(picture: PhotoPicture, reading: PhotoReading) -> tuple[Finding, ...]:
    """Warnings and notes on a photo that serves, but not well."""
    photo, found = reading.photo, []
    if not picture.told:
        told = f"{photo.name}: the file does not tell the focal length; a usual one is taken"
        found.append(note("focal-length-not-told", told, "take the file from the phone itself"))
    if photo.px_per_mm < FEW_PX:
        told = f"{photo.name}: one millimetre is {photo.px_per_mm:.1f} pixels; "
        told += f"{digits(FEW_PX)} are good"
        found.append(warn("photo-small", told, "go nearer until the frame fills the picture"))
    if photo.edge > WIDE_EDGE:
        told = f"{photo.name}: edges are {photo.edge:.2f} mm wide; {digits(WIDE_EDGE)} is good"
        found.append(warn("photo-blurred", told, "hold still, and tap on the part to focus"))
    if reading.paper_clipped > MOST_CLIPPED_PAPER:
        told = f"{photo.name}: {100 * reading.paper_clipped:.0f} % of the page's bare paper is as "
        told += "bright as the picture can be, so that the light on it is guessed"
        found.append(warn("paper-too-bright", told, "expose darker"))
    elif reading.misfit > MOST_MISFIT:
        told = f"{photo.name}: the greys of the frame are {100 * reading.misfit:.0f} % off"
        remedy = "print it anew on matt paper; keep shadows and lamps off it"
        found.append(warn("greys-off", told, remedy))
    return tuple(found)
