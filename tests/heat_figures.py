"""The figures of docs/use/heat.md and the numbers in its text, from the heat model itself.

The scene: an 8 mm patch of PLA was graded even at half power, 300 mm/s, a pitch of 0.1 mm, one-way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, Point, Polygon, box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.reference_patch import reference_peak
from preprocess.marking.heat.superposition import smoothed_rise, visit_times
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.prediction import predict
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.preview.heat_map.heat_map import heat_map_svg
from tests.marking.drawn import blade
from tests.marking.moving import run_peak

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.heat.index_images import IndexImage

Curve = tuple[str, str, np.ndarray, np.ndarray]
"""Words, colour, x and y."""

SETTINGS = Settings(power=0.5, speed=300.0, pitch=0.1, angle=0.0, repeats=1)
BENCH = Bench(
    machine=Machine(spot=0.08, turnaround=1.2e-3, fly_back=2500.0),
    filament=Filament(
        name="graded PLA",
        polymer="PLA",
        optical_depth=0.05,
        spread=0.3,
        reference=Reference(power=0.5, speed=300.0),
        window=Window(),
    ),
)
DARK, WARM = "#0072b2", "#d55e00"
WIDE, NARROW = 36.0, 1.0
"""mm: wide strip, narrow strip."""

BLADE = blade(36, 10, 80)
_, _, ACROSS, DOWN = BLADE.bounds
BARS = MultiPolygon([box(-4, 0, -2, DOWN), box(ACROSS + 2, 0, ACROSS + 4, DOWN)])


def art(
    *areas: Polygon, bars: MultiPolygon | None = None, body: bool = False, two_way: bool = False
) -> Artwork:
    """Areas to engrave, each a path of its own, one-way unless told."""
    settings = replace(SETTINGS, direction=Direction.TWO_WAY if two_way else Direction.ONE_WAY)
    shapes = tuple(
        Shape(
            id=f"blade-{number}",
            layer="blade",
            operation=Operation.ENGRAVE,
            geometry=MultiPolygon([area]),
            sources=(),
            bars=bars,
        )
        for number, area in enumerate(areas)
    )
    layer = Layer(name="blade", operation=None, settings={Operation.ENGRAVE: settings})
    parts = (MultiPolygon([box(-1, -1, ACROSS + 1, DOWN + 1)]),) if body else ()
    return Artwork(page=Page(width=60, height=40), shapes=shapes, layers=(layer,), parts=parts)


@cache
def strip(width: float, *, two_way: bool = False) -> IndexImage:
    """Index of a strip 4 mm high."""
    return heat_index(art(box(0, 0, width, 4), two_way=two_way), BENCH).images[0]


@cache
def on_blade(*, barred: bool) -> IndexImage:
    """Index of a blade on its part, with bars or without."""
    return heat_index(art(BLADE, bars=BARS if barred else None, body=True), BENCH).images[0]


def middle(patch: IndexImage) -> float:
    """Index in the middle of a patch."""
    row, column = patch.index.shape[0] * 5 // 8, patch.index.shape[1] // 2
    return float(patch.index[row, column])


def at_width(patch: IndexImage, width: float) -> float:
    """Median index of the row of a width near the far tip of the blade."""
    v, index = by_row(patch)
    level = [box(-1, at, 40, at + 1e-6).intersection(BLADE).area / 1e-6 for at in v]
    far = np.where(v > DOWN / 2, np.abs(np.array(level) - width), np.inf)
    return float(index[far.argmin()])


@cache
def dots() -> tuple[float, float]:
    """Index in an inner one of six 4 mm dots: swept by itself, and all of them together."""
    discs = art(*[Point(8 * n + 2, 2).buffer(2, 32) for n in range(6)])
    together = replace(BENCH.machine, raster_groups=RasterGroups.EACH_COLOUR)
    alone = heat_index(discs, BENCH).images[2]
    patch = heat_index(discs, replace(BENCH, machine=together)).images[0]
    column = int(np.abs(patch.u - 18.05).argmin())
    return middle(alone), float(patch.index[patch.index.shape[0] * 5 // 8, column])


def history(width: float, seconds: float) -> tuple[np.ndarray, np.ndarray]:
    """Warmth in the middle of a strip in units of the patch, from 0.5 mm before the beam on."""
    plastic = thermal_medium_of(BENCH.filament, BENCH.machine)
    peak, _ = reference_peak(plastic, BENCH.machine, 0.1)
    planned = plan_of(art(box(0, 0, width, 4)), BENCH.machine)
    struck = exposures_of(planned, schedule_of(planned, BENCH.machine), plastic.watts, None)
    begins = float(visit_times(struck[0], width / 2)[15]) - 1e-3
    visits = visit_times(struck[0], width / 2) - begins + 1e-6
    within = visits[(visits > 0) & (visits < seconds)]
    times = np.sort(np.concatenate([np.linspace(0, seconds, 601), within, within - 2e-6]))
    rise = smoothed_rise(struck, plastic, (width / 2, 2.0), 0.0, times + begins)
    return 1e3 * times, rise / peak


def by_row(patch: IndexImage) -> tuple[np.ndarray, np.ndarray]:
    """Median index of each row that is wider than 0.4 mm, over v."""
    rows = patch.lit.sum(axis=1) > 4
    return patch.v[rows], np.nanmedian(patch.index[rows], axis=1)


def along(patch: IndexImage) -> tuple[np.ndarray, np.ndarray]:
    """The hotter of two neighbouring rows in the middle of the strip, over u."""
    row = patch.index.shape[0] * 5 // 8
    return patch.u[1:-1], patch.index[row : row + 2].max(axis=0)[1:-1]


def facts() -> dict[str, str]:
    """The numbers of the page, each as the words that it stands in."""
    plastic = thermal_medium_of(None, Machine())
    far = [sqrt(2 * plastic.solid.alpha * seconds) for seconds in (0.1, 1, 10)]
    narrow, wide = middle(strip(NARROW)), middle(strip(WIDE))
    alone, inner = dots()
    returns = [1e3 * (w / 300 + 1.2e-3 + w / 2500) for w in (NARROW, WIDE)]
    _, ends = along(strip(20.0, two_way=True))
    _, single = along(strip(20.0))
    return {
        "scene": "8 mm patch of PLA at 50 % power, 300 mm/s, pitch 0.1 mm",
        "far": f"{far[0]:.2f} mm in a tenth of a second, {far[1]:.2f} mm in one second, "
        f"{far[2]:.1f} mm in ten",
        "returns": f"every {returns[0]:.1f} ms in a strip of 1 mm, every {returns[1]:.0f} ms in "
        "one of 36 mm",
        "strips": f"index {narrow:.2f} in the narrow one, {wide:.2f} in the wide one",
        "ratio": f"{narrow / wide:.2f} times",
        "tip": f"from {at_width(on_blade(barred=False), 1):.2f} to "
        f"{at_width(on_blade(barred=True), 1):.2f} where the blade is 1 mm wide",
        "ends": f"{_excess(ends)} hotter at its ends, one-way {_excess(single)}",
        "dots": f"index {alone:.2f} alone, {inner:.2f} in the compound",
        "window": f"{Window().weak} to {Window().heavy}",
        "defaults": f"an optical depth of {plastic.solid.depth:g} mm and a spread of "
        f"{plastic.spread:g} mm",
        "thin": f"thinner than about {2 * sqrt(plastic.solid.alpha * 10):.1f} mm",
        "line": f"{spike_share():.0f} %",
    }


def _excess(values: np.ndarray) -> str:
    return f"{100 * (values.max() / np.median(values) - 1):.0f} %"


def spike_share() -> float:
    """Percent of the narrow strip's peak that one row alone brings, by the moving beam."""
    plastic = thermal_medium_of(BENCH.filament, BENCH.machine)
    peak, _ = reference_peak(plastic, BENCH.machine, 0.1)
    energy = plastic.watts * 0.5 / 300
    depth, sigma = plastic.solid.depth, plastic.sigma
    alone = run_peak((-20.0, 20.0), 300.0, depth=depth, sigma=sigma, smooth=plastic.smooth)
    return 100 * energy / plastic.solid.capacity * alone / (peak * middle(strip(NARROW)))


@dataclass(frozen=True)
class Axis:
    """One axis: words, range and marked values."""

    words: str
    low: float
    high: float
    marks: Sequence[float]

    def place(self, value: np.ndarray | float, start: float, end: float) -> np.ndarray:
        """Where a value lies between two places of the picture."""
        return start + (np.asarray(value) - self.low) / (self.high - self.low) * (end - start)


LEFT, RIGHT, TOP, BOTTOM = 22.0, 154.0, 14.0, 72.0
HEAD = """<svg xmlns="http://www.w3.org/2000/svg" width="960" height="540" viewBox="0 0 160 90">
<title>{title}</title>
<style type="text/css">text {{ font: 3.4px sans-serif; fill: #222 }} .c {{ text-anchor: middle }}
.e {{ text-anchor: end }} .b {{ font-weight: bold }}
.axis {{ fill: none; stroke: #222; stroke-width: .3 }}
.grid {{ fill: none; stroke: #ccc; stroke-width: .2 }}
.curve {{ fill: none; stroke-width: .7; stroke-linejoin: round }}</style>
<rect width="160" height="90" fill="#fff"/>
<text class="b" x="{left:g}" y="8">{title}</text>"""


def chart(title: str, across: Axis, up: Axis, curves: Sequence[Curve]) -> str:
    """A chart of a few curves, the second one dashed so that it can be told without colour."""
    out = [HEAD.format(title=title, left=LEFT)]
    for value in up.marks:
        y = up.place(value, BOTTOM, TOP)
        out.append(f'<path class="grid" d="M{LEFT:g} {y:.2f}H{RIGHT:g}"/>')
        out.append(f'<text class="e" x="{LEFT - 2:g}" y="{y + 1.2:.2f}">{value:g}</text>')
    for value in across.marks:
        x = across.place(value, LEFT, RIGHT)
        out.append(f'<path class="axis" d="M{x:.2f} {BOTTOM:g}v1.2"/>')
        out.append(f'<text class="c" x="{x:.2f}" y="{BOTTOM + 5.5:g}">{value:g}</text>')
    out.append(f'<path class="axis" d="M{LEFT:g} {TOP:g}V{BOTTOM:g}H{RIGHT:g}"/>')
    out.append(f'<text class="c" x="88" y="{BOTTOM + 11:g}">{across.words}</text>')
    out.append(f'<text class="c" transform="translate(9 43) rotate(-90)">{up.words}</text>')
    for number, (words, colour, x, y) in enumerate(curves):
        at = zip(across.place(x, LEFT, RIGHT), up.place(y, BOTTOM, TOP), strict=True)
        data = "M" + " ".join(f"{a:.2f} {b:.2f}" for a, b in at)
        dash = ' stroke-dasharray="2 1"' if number else ""
        out.append(f'<path class="curve" stroke="{colour}"{dash} d="{data}"/>')
        key = 88 + 5 * number - 70 * (1 - number)
        out.append(f'<path class="curve" stroke="{colour}"{dash} d="M{key + 4} 87.5h8"/>')
        out.append(f'<text x="{key + 14}" y="88.7">{words}</text>')
    return "\n".join([*out, "</svg>", ""])


def figures() -> dict[str, str]:
    """Name and SVG of each figure."""
    index = "warmth, in peaks of the patch"
    up = Axis("heat index", 0.6, 1.4, (0.6, 0.8, 1.0, 1.2, 1.4))
    one, other = history(NARROW, 1.0), history(WIDE, 1.0)
    pulses = chart(
        "One point while the beam passes: short rows and long rows",
        Axis("time, ms", 0, 1000, range(0, 1001, 200)),
        Axis(index, 0, 1.25, (0, 0.25, 0.5, 0.75, 1, 1.25)),
        [("rows of 1 mm", WARM, *one), ("rows of 36 mm", DARK, *other)],
    )
    tip = chart(
        "Down a slanted blade, row by row",
        Axis("distance from the first row, mm", 0, 36, range(0, 36, 5)),
        up,
        [
            ("as drawn", WARM, *by_row(on_blade(barred=False))),
            ("with bars", DARK, *by_row(on_blade(barred=True))),
        ],
    )
    ends = chart(
        "Along the rows of a wide area",
        Axis("distance along the row, mm", 0, 20, range(0, 21, 5)),
        up,
        [
            ("two-way", WARM, *along(strip(20.0, two_way=True))),
            ("one-way", DARK, *along(strip(20.0))),
        ],
    )
    charts = {"heat-pulses.svg": pulses, "heat-blade.svg": tip, "heat-ends.svg": ends}
    return {**charts, "heat-map.svg": blade_map()}


def blade_map() -> str:
    """The map of the blade as drawn, as `predict --map` makes it."""
    drawn = art(BLADE, body=True)
    told = predict(drawn, BENCH, surely=False)
    data = heat_map_svg(drawn, told.heat, bench=BENCH, findings=told.findings, title="blade")
    return data.decode()
