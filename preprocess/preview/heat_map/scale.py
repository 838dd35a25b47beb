"""The scale of the heat map: which index has which colour, and the bar that tells so."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.preview.drawing.canvas import (
    INK,
    TEXT_SIZE,
    Paint,
    group,
    mm,
    path,
    rectangle,
    text,
    text_width,
)
from preprocess.preview.drawing.page_layout import MARGIN, WIDTH
from preprocess.preview.heat_map.colour_ramp import ramp
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.marking.heat.index import HeatIndex

LEVELS = 24
_USUAL = 0.4, 1.6
"""Ends of the scale, unless the filament's window needs more: alike from picture to picture."""

_ROOM = 0.2
"""Least reach of the scale beyond the window."""

_BAR = 6.0
_GRAIN = 1e-9
_TICK = 0.2
_TICKS = 9
_LONG = WIDTH - 2 * MARGIN


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleLimit:
    """One limit of the window: its value on the scale, what lies beyond, and how it is drawn."""

    name: str
    at: float
    words: str
    dash: str
    high: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatScale:
    """Index over `base`, in so many steps of equal width from `low` to `high`.

    The base is 1 for a graded filament. Otherwise it is the median of a job, since then only the
    ranking counts.
    """

    base: float
    low: float
    high: float
    limits: tuple[ScaleLimit, ...]
    colours: tuple[str, ...] = field(default=ramp(LEVELS))

    @property
    def steps(self) -> tuple[float, ...]:
        """Lower end of each colour."""
        wide = (self.high - self.low) / len(self.colours)
        return tuple(self.low + wide * n for n in range(len(self.colours)))

    def share(self, at: float) -> float:
        """Position of a value on the bar, 0 to 1; values beyond it stand at its end."""
        return min(max((at - self.low) / (self.high - self.low), 0.0), 1.0)


def heat_scale(heat: HeatIndex) -> HeatScale:
    """The scale for a heat index; it depends on the filament alone, unless that is not graded."""
    window = heat.window
    limits = [
        ScaleLimit(name="weak", at=window.weak, words="too weak below", dash="1.6 1.1", high=False),
        ScaleLimit(name="heavy", at=window.heavy, words="too heavy above", dash="", high=True),
    ]
    if window.molten is not None:
        words = "molten above"
        limits.append(
            ScaleLimit(name="molten", at=window.molten, words=words, dash="0 1", high=True)
        )
    highest = max(limit.at for limit in limits)
    return HeatScale(
        base=1.0 if heat.calibrated else heat.median or 1.0,
        low=min(_USUAL[0], max(0.0, math.floor(10 * (window.weak - _ROOM)) / 10)),
        high=max(_USUAL[1], math.ceil(10 * (highest + _ROOM) - _GRAIN) / 10),
        limits=tuple(limits),
    )


def colour_bar(scale: HeatScale, words: str, y: float) -> tuple[list[str], float]:
    """The colour bar below y with its numbers and limits, and where it ends."""
    lines = [text(MARGIN, y + TEXT_SIZE, words, bold=True)]
    y += 2.1 * TEXT_SIZE
    for lane in _lanes(scale):
        lines += [text(_words_at(one, scale)[0], y + TEXT_SIZE, _words(one)) for one in lane]
        y += 1.4 * TEXT_SIZE
    lines += colours_and_ticks(scale, (MARGIN, y, _LONG, _BAR))
    return group("scale-of-heat", words, lines), y + _BAR + 2.2 * TEXT_SIZE


def colours_and_ticks(scale: HeatScale, bar: tuple[float, float, float, float]) -> list[str]:
    """The colours of the scale within a bar, numbers below it, and the limits across it.

    `bar` is left, top, width and height on the page, mm.
    """
    left, top, width, height = bar
    wide = width / len(scale.colours)
    lines = [
        line
        for n, colour in enumerate(scale.colours)
        for line in path(rectangle(left + n * wide, top, wide + 0.05, height), Paint(fill=colour))
    ]
    every = _TICK
    while (scale.high - scale.low) / every > _TICKS:
        every *= 2
    first = math.ceil(scale.low / every - _GRAIN)
    for n in range(first, math.floor(scale.high / every + _GRAIN) + 1):
        x, words = left + width * scale.share(n * every), digits(n * every)
        lines += path(f"M{mm(x)} {mm(top + height)} v0.8", Paint(stroke=INK, width=0.25))
        begin = x - text_width(words) / 2
        begin = min(max(begin, left), left + width - text_width(words))
        lines.append(text(begin, top + height + 1.2 + TEXT_SIZE, words))
    for limit in scale.limits:
        x = left + width * scale.share(limit.at)
        lines += limit_line(f"M{mm(x)} {mm(top - 0.6)} V{mm(top + height + 0.6)}", limit)
    return lines


def limit_line(data: str, limit: ScaleLimit) -> list[str]:
    """A limit's line, dark in a pale casing, so that it shows on every colour."""
    casing = Paint(stroke="#ffffff", width=0.75)
    return [
        *path(data, casing),
        *path(data, Paint(stroke="#000000", width=0.35, dash=limit.dash)),
    ]


def _lanes(scale: HeatScale) -> list[list[ScaleLimit]]:
    """Limits by line of text: two on a line where the words do not meet."""
    weak, heavy, *rest = scale.limits
    apart = _words_at(weak, scale)[1] + 1 < _words_at(heavy, scale)[0]
    return [*([limit] for limit in rest), *([[weak, heavy]] if apart else [[weak], [heavy]])]


def _words_at(limit: ScaleLimit, scale: HeatScale) -> tuple[float, float]:
    """Extents of the words of a limit: outside the window, if there is room."""
    x, wide = MARGIN + _LONG * scale.share(limit.at), text_width(_words(limit))
    left = x + 1 if limit.high else x - wide - 1
    left = min(max(left, MARGIN), WIDTH - MARGIN - wide)
    return left, left + wide


def _words(limit: ScaleLimit) -> str:
    return f"{limit.words} {digits(limit.at)}"
