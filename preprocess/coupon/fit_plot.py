"""The even band as an SVG for paper: speed against power, and row span against power.

Both axes are logarithmic, so that a band of equal heat is nearly straight. Grades are told by the
form of their marks, never by colour alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.coupon.fit_patch import Patch
from preprocess.coupon.fit_plot_marks import MARKS, mark
from preprocess.coupon.fit_profile import reference_of
from preprocess.coupon.plot_axes import Panel, ticks_within
from preprocess.preview.canvas import TEXT, Paint, group, mm, path, text
from preprocess.write.names import escaped

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from preprocess.coupon.fit import Fit
    from preprocess.coupon.model import Cell
    from preprocess.model.filament import Filament

    Floats = NDArray[np.float64]

WIDE, HIGH = 190.0, 104.0
BAND = Paint(fill="#a8cfe8")
EDGE = Paint(stroke="#00466e", width=0.4)
UNSURE = Paint(stroke="#00466e", width=0.3, dash="1.3 0.9")
PLACES = 9
"""Points of each curve."""

BEYOND = 1.25
"""How far the plots reach beyond what was graded, as a factor."""

SHORTEST = 1.0
APART = 2.6
"""mm on paper between marks that would cover one another."""


def plot_svg(fit: Fit, profile: Filament) -> bytes:
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
    whole = [start, f"<title>{escaped(title)}</title>", white, *lines, "</svg>", ""]
    return "\n".join(whole).encode()


def _by_speed(fit: Fit) -> list[str]:
    reference, patch = reference_of(fit)
    speeds = _reach(fit.sightings.speeds)
    bands = [
        _band(fit, Patch(size=patch.size, speed=v, pitch=patch.pitch, two_way=patch.two_way))
        for v in speeds
    ]
    spots = [(one.cell.speed, one.cell.power, one.grade) for one in fit.sightings.all]
    panel = Panel(14, 16, 74, 62, (speeds[0], speeds[-1]), _powers(bands, spots))
    head = f"Power against speed, pitch {reference.pitch:g} mm, rows of {patch.size[0]:g} mm"
    names = ("speed, mm/s", sorted(fit.sightings.speeds))
    return [text(4, 13, head), *_drawn(panel, speeds, bands, spots, names)]


def _by_span(fit: Fit) -> list[str]:
    reference, patch = reference_of(fit)
    held = {one.cell.name: _span(one.cell.size, patch) for one in fit.sightings.all}
    spans = _reach([SHORTEST, *held.values()])
    bands = [_band(fit, _wide(patch, span)) for span in spans]
    values = fit.posterior.mean()[None]
    spots = [
        (
            _span(one.cell.size, patch),
            one.cell.power * _carried(fit, patch, one.cell, values),
            one.grade,
        )
        for one in fit.sightings.all
    ]
    panel = Panel(110, 16, 74, 62, (spans[0], spans[-1]), _powers(bands, spots))
    head = f"Power against row span at {reference.speed:g} mm/s"
    words = "row span, mm (cells of other speeds are carried over)"
    names = (words, ticks_within(spans[0], spans[-1]))
    return [text(100, 13, head), *_drawn(panel, spans, bands, spots, names)]


def _span(size: Mapping[str, float], patch: Patch) -> float:
    return size.get("span", size.get("width", patch.size[0]))


def _carried(fit: Fit, patch: Patch, cell: Cell, values: Floats) -> float:
    """Power at the reference speed and pitch over that of a cell, for equal heat."""
    size = (_span(cell.size, patch), patch.size[1])
    here = Patch(size=size, speed=patch.speed, pitch=patch.pitch, two_way=patch.two_way)
    there = Patch(size=size, speed=cell.speed, pitch=cell.pitch, two_way=cell.two_way)
    return float(np.exp(fit.heat(there, values) - fit.heat(here, values))[0])


def _wide(patch: Patch, span: float) -> Patch:
    size = (span, patch.size[1])
    return Patch(size=size, speed=patch.speed, pitch=patch.pitch, two_way=patch.two_way)


def _reach(values: Sequence[float]) -> list[float]:
    return [float(v) for v in np.geomspace(min(values) / BEYOND, max(values) * BEYOND, PLACES)]


def _band(fit: Fit, patch: Patch) -> Floats:
    """Powers at the two ends of even, each with low end, median and high end: 2 × 3."""
    band = fit.band(patch)
    return np.exp([fit.posterior.interval(band[:, end]) for end in (0, 2)])


def _powers(
    bands: Sequence[Floats], spots: Sequence[tuple[float, float, int]]
) -> tuple[float, float]:
    every = [power for _, power, _ in spots]
    low = min(*every, *(float(b[0, 0]) for b in bands)) / BEYOND
    return low, min(max(*every, *(float(b[1, 2]) for b in bands)) * BEYOND, 1.5)


def _drawn(
    panel: Panel,
    places: Sequence[float],
    bands: Sequence[Floats],
    spots: Sequence[tuple[float, float, int]],
    names: tuple[str, Sequence[float]],
) -> list[str]:
    there, back = [list(zip(places, [b[end, 1] for b in bands], strict=True)) for end in (0, 1)]
    lines = [*path(panel.area(there, back), BAND), *panel.frame(*names, "power, %")]
    for end in (0, 1):
        for which, paint in ((1, EDGE), (0, UNSURE), (2, UNSURE)):
            curve = list(zip(places, [b[end, which] for b in bands], strict=True))
            lines += path(panel.line(curve), paint)
    taken: dict[tuple[float, float], int] = {}
    for x, y, grade in sorted(spots):
        at = (round(panel.x(x), 2), round(panel.y(y), 2))
        beside = taken[at] = taken.get(at, -1) + 1
        lines += mark(at[0] + APART * beside, at[1], grade)
    return lines


def _legend() -> Iterator[str]:
    x, y = 14.0, HIGH - 12
    for grade, name in enumerate(MARKS):
        yield from mark(x, y - 1, grade)
        yield text(x + 2.5, y, name)
        x += 20
    yield from path(f"M{mm(x)} {mm(y - 2.2)} h8 v2.4 h-8 Z", BAND)
    yield text(x + 10, y, "even, as fitted")
    x += 38
    yield from path(f"M{mm(x)} {mm(y - 1)} h8", UNSURE)
    yield text(x + 10, y, "its ends, in 90 of 100")
    yield text(
        14, y + 2 * TEXT, "By eye, from graded coupons. Not a promise that a setting is safe."
    )
