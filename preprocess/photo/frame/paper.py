"""The place of a frame on its paper: turned and laid so that the instructions fit beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.photo.frame.layout import BAND, WINDOW_STEP
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.photo.frame.layout import FrameLayout

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4), "A6": (105.0, 148.0)}
"""Width and height of upright sheets, mm."""

EDGE = 5.0
"""Rim that a printer may leave white, mm."""

_BETWEEN = 4.0
_COLUMN, _STRIP, _LINE = 25.0, 38.0, 6.0
"""Least width of text beside the frame, height of text below it, and of the line to check, mm."""

_SMALL = 110.0
"""Paper narrower than this has small print."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPlan:
    """A sheet (width and height), and where the frame, the line to check and the text lie, mm.

    `line` and `text` are boxes: left, top, right, bottom.
    """

    sheet: tuple[float, float]
    corner: tuple[float, float]
    line: tuple[float, float, float, float]
    text: tuple[float, float, float, float]
    small: bool


def paper_plan(layout: FrameLayout, paper: str) -> PaperPlan:
    """Lay a frame on paper of a known name.

    Raises:
        Refusal: it is too large; the remedy names the largest window.
    """
    upright = PAPERS[paper]
    small = min(upright) < _SMALL
    for sheet in (upright, (upright[1], upright[0])):
        for beside in (False, True):
            plan = _plan(layout, sheet, beside=beside, small=small)
            if plan is not None:
                return plan
    wide, high = (digits(side) for side in _largest(upright))
    raise Refusal(
        f"a window of {digits(layout.width)} × {digits(layout.height)} mm does not fit on {paper}",
        f"take larger paper, or a window of at most {wide} × {high} mm",
    )


def _plan(
    layout: FrameLayout, sheet: tuple[float, float], *, beside: bool, small: bool
) -> PaperPlan | None:
    wide, high = layout.size
    right, bottom = sheet[0] - EDGE, sheet[1] - EDGE
    below = EDGE + high
    if beside:
        column = EDGE + wide + _BETWEEN
        fits = column + _COLUMN <= right and below + _LINE <= bottom
        corner = (EDGE, EDGE)
        line = (EDGE, below, column, bottom)
        text = (column, EDGE, right, bottom)
    else:
        under = below + _BETWEEN
        fits = EDGE + wide <= right and under + _STRIP <= bottom
        corner = ((sheet[0] - wide) / 2, EDGE)
        line = (EDGE, under, right, under + _LINE)
        text = (EDGE, under + _LINE, right, bottom)
    plan = PaperPlan(sheet=sheet, corner=corner, line=line, text=text, small=small)
    return plan if fits else None


def _largest(upright: tuple[float, float]) -> tuple[float, float]:
    """The largest window on a sheet that lies on its side, with text beside it or below."""
    short, long = upright
    room = {
        (long - 2 * EDGE, short - 2 * EDGE - _BETWEEN - _STRIP),
        (long - 2 * EDGE - _BETWEEN - _COLUMN, short - 2 * EDGE - _LINE),
    }
    sides = max(room, key=lambda one: one[0] * one[1])
    wide, high = (WINDOW_STEP * ((side - 2 * BAND) // WINDOW_STEP) for side in sides)
    return wide, high
