"""The page to print: markers, greys, a line to check, instructions and cautions; SVG and HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import box, unary_union

from preprocess.photo.frame.layout import GREY, MARKER, REFLECTANCES
from preprocess.photo.frame.markers import MODULES, white_modules
from preprocess.photo.frame.texts import CHECK, FRAME_CAUTIONS, TO_PHOTOGRAPH, TO_PRINT
from preprocess.preview.drawing.canvas import Paint, Viewport, paragraph, path, rectangle, svg_text
from preprocess.preview.drawing.html import inline_svg, own_file, render_page
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.photo.frame.layout import FrameLayout
    from preprocess.photo.frame.paper import PaperPlan

_BLACK, _WHITE = "#000000", "#ffffff"
_CHECKED = 50.0
_INK = Paint(stroke=_BLACK, width=0.25)
_CORNER = 2.0
_SIZES = {True: 2.0, False: 2.9}


def frame_svg(layout: FrameLayout, plan: PaperPlan) -> str:
    """The page as a picture of the size of its paper."""
    lines = [*_frame(layout, plan.corner), *_texts(plan, layout)]
    return svg_text(_title(layout), lines, plan.sheet)


def frame_html(layout: FrameLayout, plan: PaperPlan) -> bytes:
    """The page as HTML that prints at its size; on a screen the instructions are text, too."""
    width, height = (digits(side) for side in plan.sheet)
    return render_page(
        "preprocess.photo",
        "frame.html",
        css=own_file("preprocess.photo", "frame.css"),
        title=_title(layout),
        page=f"{width}mm {height}mm",
        picture=inline_svg(frame_svg(layout, plan), "frame"),
        steps=(TO_PRINT, CHECK, *TO_PHOTOGRAPH),
        cautions=FRAME_CAUTIONS,
    )


def _title(layout: FrameLayout) -> str:
    return f"Photo frame, window {digits(layout.width)} × {digits(layout.height)} mm"


def _frame(layout: FrameLayout, corner: tuple[float, float]) -> Iterator[str]:
    left, top = corner
    for number, (x, y) in enumerate(layout.markers):
        yield from _marker(number, left + x, top + y)
    for x, y, reflectance in layout.greys:
        yield from path(rectangle(left + x, top + y, GREY, GREY), Paint(fill=_grey(reflectance)))
    yield from path(_window_corners(layout, corner), _INK)


def _marker(number: int, left: float, top: float) -> Iterator[str]:
    side = MARKER / MODULES
    white = unary_union(
        [box(x, y, x + 1, y + 1) for y, x in np.argwhere(white_modules(number)).tolist()]
    )
    yield from path(rectangle(left, top, MARKER, MARKER), Paint(fill=_BLACK))
    view = Viewport(scale=side, origin=(0.0, 0.0), corner=(left, top))
    yield from path(view.data(white), Paint(fill=_WHITE))


def _grey(reflectance: float) -> str:
    """The grey of sRGB that a printer makes so, between full ink and bare paper."""
    ink, paper = REFLECTANCES[0], REFLECTANCES[-1]
    share = (reflectance - ink) / (paper - ink)
    coded = 12.92 * share if share <= 0.0031308 else 1.055 * share ** (1 / 2.4) - 0.055  # noqa: PLR2004 - IEC 61966-2-1
    level = round(255 * coded)
    return f"#{level:02x}{level:02x}{level:02x}"


def _window_corners(layout: FrameLayout, corner: tuple[float, float]) -> str:
    """Small angles at the corners of the window."""
    left, top, right, bottom = layout.window
    pieces = []
    for x, into in ((left, _CORNER), (right, -_CORNER)):
        for y, down in ((top, _CORNER), (bottom, -_CORNER)):
            a, b = corner[0] + x, corner[1] + y
            pieces.append(f"M{a + into:.2f} {b:.2f} H{a:.2f} V{b + down:.2f}")
    return " ".join(pieces)


def _texts(plan: PaperPlan, layout: FrameLayout) -> Iterator[str]:
    size = _SIZES[plan.small]
    yield from _line_to_check(plan, size)
    left, y, right, _ = plan.text
    lines, y = paragraph(left, y, f"{_title(layout)}.", right - left, size=size, bold=True)
    yield from lines
    for words in (TO_PRINT, *TO_PHOTOGRAPH, *FRAME_CAUTIONS):
        lines, y = paragraph(left, y + 0.2 * size, words, right - left, size=size)
        yield from lines


def _line_to_check(plan: PaperPlan, size: float) -> Iterator[str]:
    left, top, right, _ = plan.line
    y = top + size
    ends = f"M{left:.2f} {y - 1:.2f} v2 M{left + _CHECKED:.2f} {y - 1:.2f} v2"
    yield from path(f"M{left:.2f} {y:.2f} h{_CHECKED:.0f} {ends}", _INK)
    beside = left + _CHECKED + size
    lines, _ = paragraph(beside, top, CHECK, right - beside, size=size)
    yield from lines
