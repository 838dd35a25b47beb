"""Colours of warmth on the page, and their scale: dark is cool, the brighter the hotter.

Lightness rises steadily from the dark of the stage to near white, so that grey prints and all eyes
read it; hue only helps.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from preprocess.preview.drawing.oklab import oklab_hex
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.preview.heat_map.scale import HeatScale

GLOW_STEPS = 256
_DARK, _RISE = 0.20, 0.76
"""Lightness of no warmth, and what the hottest has more."""

_PALE, _COLOURFUL = 0.02, 0.16
_HUE, _TURN = 320.0, 150.0
"""Degrees: from violet through red to yellow."""

_ROOM = 1.1
"""The scale reaches at least so many times beyond the limit of too heavy."""

_STOPS, _FINE = 32, GLOW_STEPS - 1
_HIGH = 52
"""Height of the scale, px."""

DIRECTION = (
    "Brighter is hotter. The heat map and the job sheet go the other way: there darker is hotter."
)


@cache
def glow_ramp() -> tuple[str, ...]:
    """Colours as #rrggbb, from cold to hottest."""
    return tuple(_colour(n / (GLOW_STEPS - 1)) for n in range(GLOW_STEPS))


def _colour(share: float) -> str:
    chroma = _PALE + _COLOURFUL * math.sin(math.pi * min(1.0, 1.02 * share)) ** 0.9
    hue = math.radians(_HUE + _TURN * share)
    return oklab_hex(_DARK + _RISE * share, chroma * math.cos(hue), chroma * math.sin(hue))


def top_of(scale: HeatScale, largest: float) -> float:
    """The index at the bright end: beyond the window, and beyond the hottest place."""
    heavy = max(limit.at for limit in scale.limits if limit.high) * scale.base
    return max(_ROOM * heavy, 1.02 * largest)


def glow_scale(scale: HeatScale, top: float, *, window: bool) -> Markup:
    """The scale as a picture that is as wide as its place: colours, numbers, and what they mean."""
    ramp, highest = glow_ramp(), top / scale.base
    stops = "".join(
        f'<stop offset="{_percent(n / _STOPS)}" stop-color="{ramp[n * _FINE // _STOPS]}"/>'
        for n in range(_STOPS + 1)
    )
    known = {limit.name: limit.at for limit in scale.limits}
    weak, heavy = known["weak"], known["heavy"]
    marks = [0.0, weak, heavy] if window else [0.5 * n for n in range(math.ceil(2 * highest))]
    lines = [_number(mark, highest) for mark in marks]
    if window:
        lines += [_limit(mark / highest) for mark in (weak, heavy)]
        lines.append(_words("even", (weak + heavy) / 2 / highest))
        lines.append('<text x="100%" y="47" text-anchor="end">too heavy</text>')
    unit = "heat index" if window else "heat index, in medians of this job"
    lines.append(f'<text x="0" y="47">{unit}</text>')
    return Markup(  # noqa: S704 - numbers and words of our own
        f'<svg role="img" aria-label="Scale of the {unit}: dark is cool, bright is hot" '
        f'width="100%" height="{_HIGH}" font-size="13" fill="#444"><defs>'
        f'<linearGradient id="glow">{stops}</linearGradient></defs>'
        '<rect width="100%" height="14" fill="url(#glow)"/>'
        f"{''.join(lines)}</svg>"
    )


def _number(mark: float, highest: float) -> str:
    anchor = "start" if mark == 0 else "middle"
    return (
        f'<text x="{_percent(mark / highest)}" y="30" text-anchor="{anchor}">{digits(mark)}</text>'
    )


def _limit(share: float) -> str:
    at = f'x1="{_percent(share)}" x2="{_percent(share)}" y1="0" y2="17"'
    return f'<line {at} stroke="#fff" stroke-width="4"/><line {at} stroke="#000" stroke-width="2"/>'


def _words(words: str, share: float) -> str:
    return f'<text x="{_percent(share)}" y="47" text-anchor="middle">{words}</text>'


def _percent(share: float) -> str:
    return f"{digits(100 * share, 4)}%"
