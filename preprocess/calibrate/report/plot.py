"""The even band as an SVG for paper: power against speed, and power against row span.

Both axes are logarithmic, so that a band of equal heat is nearly straight. Each grade has a symbol
of its own form, never told by colour alone.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.report.tone_plot import TONES_HIGH, tone_residuals
from preprocess.coupon.design.model import Grade
from preprocess.coupon.paper.grading_order import cell_span
from preprocess.preview.drawing.canvas import INK, TEXT_SIZE, Paint, group, mm, path, svg_text, text
from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame, log_ticks
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.coupon.design.model import Cell
    from preprocess.model.bench.filament import Filament

_WIDE, _HIGH = 190.0, 104.0
_PLOT_SIZE = 74.0, 62.0
_BAND = Paint(fill="#a8cfe8")
_EDGE = Paint(stroke="#00466e", width=0.4)
_UNSURE = Paint(stroke="#00466e", width=0.3, dash="1.3 0.9")
_OPEN = Paint(fill="#ffffff", stroke=INK, width=0.3)
_FULL = Paint(fill=INK, stroke=INK, width=0.3)
_RADIUS = 1.1
_PLACES = 9
"""Points of each curve."""

_BEYOND = 1.25
"""Factor by which the plots reach beyond the graded cells."""

_SHORTEST = 1.0
"""Shortest row span of the plot, mm."""

APART = 2.6
"""Least distance between two symbols on paper, mm."""

_CLEAR = APART - 1e-6


def even_band_svg(fit: FilamentFit, profile: Filament) -> bytes:
    """Both plots with their legend, and what the fit leaves of tones below, as one drawing."""
    title = f"{profile.name}: the even band"
    high = _HIGH + (TONES_HIGH if fit.tones else 0.0)
    tones = tone_residuals(fit.tones, _HIGH) if fit.tones else []
    lines = [
        f'<rect width="{mm(_WIDE)}" height="{mm(high)}" fill="#ffffff"/>',
        text(4, 7, title, size=4, bold=True),
        *group("speed", "power against speed", _by_speed(fit)),
        *group("span", "power against row span", _by_span(fit)),
        *group("legend", "legend", list(_legend())),
        *(group("tones", "tones along blades", tones) if tones else ()),
    ]
    return f"{svg_text(title, lines, (_WIDE, high))}\n".encode()


def _by_speed(fit: FilamentFit) -> list[str]:
    reference, patch = reference_patch(fit)
    head = (
        f"Power in % against speed, rows of {digits(patch.size[0])} mm, pitch "
        f"{digits(reference.pitch)} mm"
    )
    lines = _plot(
        fit,
        14,
        "speed, mm/s; other spans are carried over",
        _axis(fit.observations.speeds, fit.observations.speeds),
        lambda cell: cell.speed,
        lambda speed: replace(patch, speed=speed),
    )
    return [text(4, 13, head), *lines]


def _by_span(fit: FilamentFit) -> list[str]:
    reference, patch = reference_patch(fit)
    spans = [_SHORTEST, *(_span(one.cell, patch) for one in fit.observations.all)]
    lines = _plot(
        fit,
        110,
        "row span, mm; other speeds are carried over",
        _axis(spans),
        lambda cell: _span(cell, patch),
        lambda span: replace(patch, size=(span, patch.size[1])),
    )
    return [text(100, 13, f"Power in % against row span at {digits(reference.speed)} mm/s"), *lines]


def _plot(
    fit: FilamentFit,
    left: float,
    name: str,
    across: PlotAxis,
    place_of: Callable[[Cell], float],
    patch_at: Callable[[float], HeatPatch],
) -> list[str]:
    """Band and graded cells over one quantity; the power of a cell is that of an equally hot patch.

    Args:
        fit: the fit.
        left: place of the plot on the sheet, mm.
        name: the quantity in words.
        across: its axis.
        place_of: the quantity of a cell.
        patch_at: the patch of which the band is shown, by the quantity.
    """
    places = [float(v) for v in np.geomspace(across.low, across.high, _PLACES)]
    bands = [_band(fit, patch_at(place)) for place in places]
    mean, beam = fit.posterior.mean()[None], fit.beam
    spots = [
        (at, beam.scaled(one.cell.power, _carried(fit, one.cell, patch_at(at), mean)), one.grade)
        for one in fit.observations.all
        for at in (place_of(one.cell),)
    ]
    low, high = _powers(bands, spots)
    down = PlotAxis(low, high, log_ticks(low, high), logarithmic=True, factor=100)
    frame = PlotFrame(left, 16, *_PLOT_SIZE, across, down, upward=True)
    curves = [
        [list(zip(places, [b[end, which] for b in bands], strict=True)) for which in range(3)]
        for end in (0, 1)
    ]
    lines = [*path(frame.area([*curves[0][1], *reversed(curves[1][1])]), _BAND)]
    lines += [piece for tick in (*frame.across_ticks, *frame.down_ticks) for piece in tick]
    lines += [*frame.axes, text(left, 16 + _PLOT_SIZE[1] + 2.4 + 2 * TEXT_SIZE, name)]
    for low_end, median, high_end in curves:
        for curve, paint in ((median, _EDGE), (low_end, _UNSURE), (high_end, _UNSURE)):
            lines += path(frame.curve(curve), paint)
    for (x, y), (_, _, grade) in zip(_side_by_side(frame, spots), sorted(spots), strict=True):
        lines += _symbol(x, y, grade)
    return lines


def _span(cell: Cell, patch: HeatPatch) -> float:
    return cell_span(cell) or patch.size[0]


def _carried(fit: FilamentFit, cell: Cell, here: HeatPatch, values: Floats) -> float:
    """Light of a patch over that of a cell, for equal heat."""
    size = (_span(cell, here), here.size[1])
    there = HeatPatch(size=size, speed=cell.speed, pitch=cell.pitch, two_way=cell.two_way)
    return float(np.exp(fit.heat(there, values) - fit.heat(here, values))[0])


def _axis(values: Sequence[float], ticks: tuple[float, ...] = ()) -> PlotAxis:
    low, high = min(values) / _BEYOND, max(values) * _BEYOND
    return PlotAxis(low, high, ticks or log_ticks(low, high), logarithmic=True)


def _band(fit: FilamentFit, patch: HeatPatch) -> Floats:
    """Powers at the two ends of even, each with low end, median and high end: 2 × 3."""
    band = fit.band(patch)
    light = np.exp([fit.posterior.interval(band[:, end]) for end in (0, 2)])
    return np.array([[fit.beam.power(float(one)) for one in ends] for ends in light])


def _powers(
    bands: Sequence[Floats], spots: Sequence[tuple[float, float, int]]
) -> tuple[float, float]:
    every = [power for _, power, _ in spots]
    low = min(*every, *(float(b[0, 0]) for b in bands)) / _BEYOND
    return low, min(max(*every, *(float(b[1, 2]) for b in bands)) * _BEYOND, 1.5)


def _side_by_side(
    frame: PlotFrame, spots: Sequence[tuple[float, float, int]]
) -> list[tuple[float, float]]:
    """Places of symbols on paper, in order; one moves aside where another would cover it."""
    placed: list[tuple[float, float]] = []
    for across, up, _ in sorted(spots):
        x, y = frame.x(across), frame.y(up)
        beside = (x + APART * (n // 2 + n % 2) * (1 if n % 2 else -1) for n in count())
        near = [a for a, b in placed if abs(b - y) < APART]
        placed.append((next(at for at in beside if all(abs(at - a) >= _CLEAR for a in near)), y))
    return placed


def _symbol(x: float, y: float, grade: int) -> list[str]:
    """Weak is an open ring, even a full disc, heavy an open square, molten a full square."""
    left, side, paint = mm(x - _RADIUS), mm(2 * _RADIUS), _FULL if grade % 2 else _OPEN
    if grade in {0, 1}:
        arc = f"a{_RADIUS} {_RADIUS} 0 1"
        return path(f"M{left} {mm(y)} {arc} 1 {side} 0 {arc} 1 -{side} 0 Z", paint)
    return path(f"M{left} {mm(y - _RADIUS)} h{side} v{side} h-{side} Z", paint)


def _legend() -> Iterator[str]:
    x, y = 14.0, _HIGH - 12
    for number, grade in enumerate(Grade):
        yield from _symbol(x, y - 1, number)
        yield text(x + 2.5, y, grade)
        x += 20
    yield from path(f"M{mm(x)} {mm(y - 2.2)} h8 v2.4 h-8 Z", _BAND)
    yield text(x + 10, y, "even, as fitted")
    x += 38
    yield from path(f"M{mm(x)} {mm(y - 1)} h8", _UNSURE)
    yield text(x + 10, y, "its ends, in 90 of 100")
    yield text(
        14, y + 2 * TEXT_SIZE, "By eye, from graded coupons. Not a promise that a setting is safe."
    )
