"""What the fit leaves of measured tones, along each blade, as a plot for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.preview.drawing.canvas import INK, TEXT_SIZE, Paint, mm, path, text
from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.calibrate.tones.tone_fit import ToneFit

TONES_HIGH = 62.0
"""Height of the plot with its heading and legend, mm."""

_SIZE = 158.0, 34.0
_LEFT, _HEAD = 14.0, 5.0
_LEAST = 2.0
"""ΔL* that the plot shows at least to both sides of nothing."""

_DASHES = "", "1.6 0.8", "0.5 0.8", "2.4 0.7 0.5 0.7"
_ZERO = Paint(stroke="#00466e", width=0.3)
_OUT = Paint(fill="#ffffff", stroke=INK, width=0.25)
_DOT = 0.7


def tone_residuals(tones: ToneFit, top: float) -> list[str]:
    """Measured less fitted tone along each blade; rings are places that the fit leaves out.

    Args:
        tones: the fitted tones.
        top: upper edge on the sheet, mm.
    """
    places = tones.model.places
    left = tones.residuals
    used = np.zeros(len(places), bool) if tones.used is None else tones.used
    most = max(_LEAST, float(np.abs(left).max()))
    furthest = max(float(places.at.max()), 1.0)
    frame = PlotFrame(
        _LEFT,
        top + _HEAD + 3,
        *_SIZE,
        PlotAxis.linear(0.0, furthest),
        PlotAxis.linear(-most, most),
        upward=True,
    )
    lines = [text(4, top + _HEAD, "Measured less fitted tone, ΔL*, along each blade")]
    lines += [piece for tick in (*frame.across_ticks, *frame.down_ticks) for piece in tick]
    lines += [*frame.axes, *path(frame.curve([(0.0, 0.0), (frame.across.high, 0.0)]), _ZERO)]
    below = frame.top + frame.height + 2.4 + 2 * TEXT_SIZE
    lines.append(text(_LEFT, below, "mm from the wide end; rings are left out of the fit"))
    for number, (coupon, cell) in enumerate(places.names):
        mine = places.cell == number
        lines += _blade(frame, places.at[mine], left[mine], used[mine], number)
        x = _LEFT + 40.0 * (number % 4)
        y = below + (1.5 + number // 4) * (TEXT_SIZE + 1)
        lines += path(f"M{mm(x)} {mm(y - 1)} h8", _ink(number))
        lines.append(text(x + 10, y, f"{cell} of {coupon.rpartition('-')[0]}"))
    return lines


def _blade(frame: PlotFrame, at: Floats, left: Floats, used: Floats, number: int) -> list[str]:
    points = list(zip(at.tolist(), left.tolist(), strict=True))
    lines = path(frame.curve(points), _ink(number)) if len(points) > 1 else []
    for (x, y), is_used in zip(points, used.tolist(), strict=True):
        if not is_used or len(points) == 1:
            lines += _ring(frame.x(x), frame.y(y), full=is_used)
    return lines


def _ink(number: int) -> Paint:
    return Paint(stroke=INK, width=0.35, dash=_DASHES[number % len(_DASHES)])


def _ring(x: float, y: float, *, full: bool) -> list[str]:
    arc = f"a{_DOT} {_DOT} 0 1"
    paint = Paint(fill=INK, stroke=INK, width=0.25) if full else _OUT
    across = mm(2 * _DOT)
    return path(f"M{mm(x - _DOT)} {mm(y)} {arc} 1 {across} 0 {arc} 1 -{across} 0 Z", paint)
