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

if TYPE_CHECKING:
    from preprocess.marking.heat.index import HeatIndex

LEVELS = 24
_USUAL = 0.4, 1.6
"""Ends of the scale, unless the filament's window needs more: alike from picture to picture."""

_ROOM = 0.2
"""How far the scale reaches beyond the window, at least."""

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
    wide = _LONG / len(scale.colours)
    lines += [
        line
        for n, colour in enumerate(scale.colours)
        for line in path(rectangle(MARGIN + n * wide, y, wide + 0.05, _BAR), Paint(fill=colour))
    ]
    lines += _ticks(scale, y + _BAR)
    for limit in scale.limits:
        x = _x(scale, limit.at)
        lines += limit_line(f"M{mm(x)} {mm(y - 0.6)} V{mm(y + _BAR + 0.6)}", limit)
    return group("scale-of-heat", words, lines), y + _BAR + 2.2 * TEXT_SIZE


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
    """Where the words of a limit begin and end: outside the window, if there is room."""
    x, wide = _x(scale, limit.at), text_width(_words(limit))
    left = x + 1 if limit.high else x - wide - 1
    left = min(max(left, MARGIN), WIDTH - MARGIN - wide)
    return left, left + wide


def _words(limit: ScaleLimit) -> str:
    return f"{limit.words} {limit.at:g}"


def _ticks(scale: HeatScale, y: float) -> list[str]:
    every = _TICK
    while (scale.high - scale.low) / every > _TICKS:
        every *= 2
    first = math.ceil(scale.low / every - _GRAIN)
    lines = []
    for n in range(first, math.floor(scale.high / every + _GRAIN) + 1):
        x, words = _x(scale, n * every), f"{n * every:g}"
        lines += path(f"M{mm(x)} {mm(y)} v0.8", Paint(stroke=INK, width=0.25))
        left = min(max(x - text_width(words) / 2, MARGIN), WIDTH - MARGIN - text_width(words))
        lines.append(text(left, y + 1.2 + TEXT_SIZE, words))
    return lines


def _x(scale: HeatScale, at: float) -> float:
    share = (at - scale.low) / (scale.high - scale.low)
    return MARGIN + _LONG * min(max(share, 0.0), 1.0)
