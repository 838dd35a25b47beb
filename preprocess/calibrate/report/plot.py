"""The even band as an SVG for paper: speed against power, and row span against power.

Both axes are logarithmic, so that a band of equal heat is nearly straight. Grades are told by the
form of their marks, never by colour alone.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.report.axes import Panel, ticks_within
from preprocess.calibrate.report.marks import GRADE_SYMBOLS, grade_symbol
from preprocess.coupon.paper.grading_order import cell_span
from preprocess.preview.drawing.canvas import TEXT_SIZE, Paint, group, mm, path, text
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.coupon.design.model import Cell
    from preprocess.model.bench.filament import Filament


WIDE, HIGH = 190.0, 104.0
_BAND = Paint(fill="#a8cfe8")
EDGE = Paint(stroke="#00466e", width=0.4)
_UNSURE = Paint(stroke="#00466e", width=0.3, dash="1.3 0.9")
_PLACES = 9
"""Points of each curve."""

_BEYOND = 1.25
"""How far the plots reach beyond what was graded, as a factor."""

_SHORTEST = 1.0
APART = 2.6
"""mm on paper between marks that would cover one another."""

_CLEAR = APART - 1e-6


def even_band_svg(fit: FilamentFit, profile: Filament) -> bytes:
    """Both plots with their legend, as one drawing."""
    title = f"{profile.name}: the even band"
    lines = [
        text(4, 7, title, size=4, bold=True),
        *group("speed", "power against speed", _by_speed(fit)),
        *group("span", "power against row span", _by_span(fit)),
        *group("legend", "legend", list(_legend())),
    ]
    box = f'viewBox="0 0 {mm(WIDE)} {mm(HIGH)}" width="{mm(WIDE)}mm" height="{mm(HIGH)}mm"'
    start = f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {box}>'
    white = f'<rect width="{mm(WIDE)}" height="{mm(HIGH)}" fill="#ffffff"/>'
    whole = [start, f"<title>{escape_text(title)}</title>", white, *lines, "</svg>", ""]
    return "\n".join(whole).encode()


def _by_speed(fit: FilamentFit) -> list[str]:
    reference, patch = reference_patch(fit)
    speeds = _reach(fit.sightings.speeds)
    bands = [_band(fit, _fast(patch, speed)) for speed in speeds]
    values = fit.posterior.mean()[None]
    spots = [
        (
            one.cell.speed,
            one.cell.power * _carried(fit, one.cell, _fast(patch, one.cell.speed), values),
            one.grade,
        )
        for one in fit.sightings.all
    ]
    panel = Panel(14, 16, 74, 62, (speeds[0], speeds[-1]), _powers(bands, spots))
    head = f"Power in % against speed, rows of {patch.size[0]:g} mm, pitch {reference.pitch:g} mm"
    names = ("speed, mm/s (cells of other spans are carried over)", sorted(fit.sightings.speeds))
    return [text(4, 13, head), *_drawn(panel, speeds, bands, spots, names)]


def _by_span(fit: FilamentFit) -> list[str]:
    reference, patch = reference_patch(fit)
    spans = _reach([_SHORTEST, *(_span(one.cell, patch) for one in fit.sightings.all)])
    bands = [_band(fit, _wide(patch, span)) for span in spans]
    values = fit.posterior.mean()[None]
    spots = [
        (
            _span(one.cell, patch),
            one.cell.power * _carried(fit, one.cell, _wide(patch, _span(one.cell, patch)), values),
            one.grade,
        )
        for one in fit.sightings.all
    ]
    panel = Panel(110, 16, 74, 62, (spans[0], spans[-1]), _powers(bands, spots))
    head = f"Power in % against row span at {reference.speed:g} mm/s"
    words = "row span, mm (cells of other speeds are carried over)"
    names = (words, ticks_within(spans[0], spans[-1]))
    return [text(100, 13, head), *_drawn(panel, spans, bands, spots, names)]


def _span(cell: Cell, patch: HeatPatch) -> float:
    return cell_span(cell) or patch.size[0]


def _carried(fit: FilamentFit, cell: Cell, here: HeatPatch, values: Floats) -> float:
    """Power of a patch over that of a cell, for equal heat."""
    size = (_span(cell, here), here.size[1])
    there = HeatPatch(size=size, speed=cell.speed, pitch=cell.pitch, two_way=cell.two_way)
    return float(np.exp(fit.heat(there, values) - fit.heat(here, values))[0])


def _fast(patch: HeatPatch, speed: float) -> HeatPatch:
    return replace(patch, speed=speed)


def _wide(patch: HeatPatch, span: float) -> HeatPatch:
    return replace(patch, size=(span, patch.size[1]))


def _reach(values: Sequence[float]) -> list[float]:
    return [float(v) for v in np.geomspace(min(values) / _BEYOND, max(values) * _BEYOND, _PLACES)]


def _band(fit: FilamentFit, patch: HeatPatch) -> Floats:
    """Powers at the two ends of even, each with low end, median and high end: 2 × 3."""
    band = fit.band(patch)
    return np.exp([fit.posterior.interval(band[:, end]) for end in (0, 2)])


def _powers(
    bands: Sequence[Floats], spots: Sequence[tuple[float, float, int]]
) -> tuple[float, float]:
    every = [power for _, power, _ in spots]
    low = min(*every, *(float(b[0, 0]) for b in bands)) / _BEYOND
    return low, min(max(*every, *(float(b[1, 2]) for b in bands)) * _BEYOND, 1.5)


def _drawn(
    panel: Panel,
    places: Sequence[float],
    bands: Sequence[Floats],
    spots: Sequence[tuple[float, float, int]],
    names: tuple[str, Sequence[float]],
) -> list[str]:
    there, back = [list(zip(places, [b[end, 1] for b in bands], strict=True)) for end in (0, 1)]
    lines = [*path(panel.area(there, back), _BAND), *panel.frame(*names)]
    for end in (0, 1):
        for which, paint in ((1, EDGE), (0, _UNSURE), (2, _UNSURE)):
            curve = list(zip(places, [b[end, which] for b in bands], strict=True))
            lines += path(panel.line(curve), paint)
    for (x, y), (_, _, grade) in zip(_side_by_side(panel, spots), sorted(spots), strict=True):
        lines += grade_symbol(x, y, grade)
    return lines


def _side_by_side(
    panel: Panel, spots: Sequence[tuple[float, float, int]]
) -> list[tuple[float, float]]:
    """Where marks stand on paper, in order: beside their place where another one stands there."""
    placed: list[tuple[float, float]] = []
    for across, up, _ in sorted(spots):
        x, y = panel.x(across), panel.y(up)
        beside = (x + APART * (n // 2 + n % 2) * (1 if n % 2 else -1) for n in count())
        near = [a for a, b in placed if abs(b - y) < APART]
        placed.append((next(at for at in beside if all(abs(at - a) >= _CLEAR for a in near)), y))
    return placed


def _legend() -> Iterator[str]:
    x, y = 14.0, HIGH - 12
    for grade, name in enumerate(GRADE_SYMBOLS):
        yield from grade_symbol(x, y - 1, grade)
        yield text(x + 2.5, y, name)
        x += 20
    yield from path(f"M{mm(x)} {mm(y - 2.2)} h8 v2.4 h-8 Z", _BAND)
    yield text(x + 10, y, "even, as fitted")
    x += 38
    yield from path(f"M{mm(x)} {mm(y - 1)} h8", _UNSURE)
    yield text(x + 10, y, "its ends, in 90 of 100")
    yield text(
        14, y + 2 * TEXT_SIZE, "By eye, from graded coupons. Not a promise that a setting is safe."
    )
