"""Limits of a photo: what does not serve is refused, with the figure, the limit and the remedy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.photo.finding.found_frame import FoundFrame
    from preprocess.photo.registering.fine_place import FinePlace
    from preprocess.photo.tone.plate_view import PlateView

LEAST_PX = 6.0
"""Pixels per mm below which a photo is refused."""

MOST_EDGE = 0.66
"""Width of the frame's edges (10 to 90 %, mm) above which it is refused."""

MOST_FIT = 0.05
"""rms distance of the markers from where they should be, mm."""

MOST_CLIPPED = 0.002
"""Share of the part that may be as bright as the picture can be."""

LEAST_MATCH, MOST_ERROR, MOST_SCALE = 0.5, 0.05, 0.02
"""Share of outline points that must find their edge, standard error of the place (mm), and by
which share a page may be printed in another size."""


def expect_sharp(frame: FoundFrame) -> None:
    """Refuse photos that are too small or blurred, or whose page was not flat.

    Raises:
        Refusal: with the figure and the limit.
    """
    if frame.px_per_mm < LEAST_PX:
        raise Refusal(
            f"one millimetre is {frame.px_per_mm:.1f} pixels; {digits(LEAST_PX)} are needed",
            "go nearer until the frame fills the picture",
        )
    if frame.edge > MOST_EDGE:
        raise Refusal(
            f"the edges of the frame are {frame.edge:.2f} mm wide; {digits(MOST_EDGE)} is the most",
            "hold still, and tap on the part to focus",
        )
    if frame.fit > MOST_FIT:
        raise Refusal(
            f"the squares of the frame are {frame.fit:.2f} mm off on average; "
            f"{digits(MOST_FIT)} is the most",
            "lay the page flat, and take the photo as it comes from the camera, not cropped",
        )


def expect_unclipped(view: PlateView) -> None:
    """Refuse photos in which the part is too bright.

    Raises:
        Refusal: with the figure and the limit.
    """
    share = float(view.clipped.mean())
    if share > MOST_CLIPPED:
        raise Refusal(
            f"{100 * share:.1f} % of the part is too bright in the picture to tell tones apart; "
            f"{digits(100 * MOST_CLIPPED)} % is the most",
            "expose darker, and keep lamps and windows out of the plastic",
        )


def expect_found(place: FinePlace) -> None:
    """Refuse photos in which the drawing was not found for certain.

    Raises:
        Refusal: with the figure and the limit.
    """
    if place.match < LEAST_MATCH or place.error > MOST_ERROR:
        raise Refusal(
            f"the drawing was not found in the window: {100 * place.match:.0f} % of its outline "
            f"fit, {100 * LEAST_MATCH:.0f} % must",
            "check that this is the right part, about upright in the window; else grade by eye",
        )
    if abs(place.scale - 1) > MOST_SCALE:
        raise Refusal(
            f"the drawing is {100 * place.scale:.1f} % of its size on the page",
            "print the frame at 100 %, and check its 50 mm line",
        )
