"""The page of what was measured: what pages of coupons and of parts share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess import __version__
from preprocess.photo.page.photo_figure import photo_figure
from preprocess.photo.page.texts import TONE_CAUTIONS, photo_facts
from preprocess.preview.drawing.html import own_file, render_page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.photo.measured import MeasuredCoupon, MeasuredJob
    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.reading.picture import PhotoPicture
    from preprocess.photo.registering.marked_drawing import MarkedDrawing

    Photos = Sequence[tuple[PhotoPicture, PhotoReading]]


def measured_page(
    measured: MeasuredCoupon | MeasuredJob,
    photos: Photos,
    drawing: MarkedDrawing,
    labels: Mapping[str, tuple[float, float]],
    **own: Any,
) -> bytes:
    """The page, UTF-8 HTML that holds all it shows.

    Args:
        measured: what was measured.
        photos: each picture with what was read of it.
        drawing: the artwork that is drawn over the pictures.
        labels: names to write on them, with their places in mm.
        own: kind, name, sentences, plots, headings, rows and left_out of this page.
    """
    return render_page(
        "preprocess.photo",
        "measured.html",
        css=own_file("preprocess.preview", "sheet.css"),
        more_css=own_file("preprocess.photo", "measured.css"),
        facts=photo_facts(measured.photos),
        figures=[
            (photo_figure(picture.rgb, reading, drawing, labels, f"p{n}"), reading.photo.name)
            for n, (picture, reading) in enumerate(photos)
        ],
        cautions=TONE_CAUTIONS,
        version=__version__,
        **own,
    )
