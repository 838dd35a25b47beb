"""The README's picture: one close-up of the frond while it is marked, as drawn and as rewritten.

An SVG without a script. Frames of the warmth follow one another by CSS; they play three times, then
rest on what has become of the mark. Where people want no motion, or nothing moves, that is shown at
once. Warmth is summed run by run as docs/use/heat.md tells, at the times of the schedule.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.overlay.booleans import union
from preprocess.marking.evenness.sentence import signed_percent
from preprocess.marking.heat.superposition import visit_times
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.kernels import own_row
from preprocess.pipeline import convert, predict_both
from preprocess.playback.block.heat_constants import heat_constants
from preprocess.playback.page.glow import GLOW_STEPS, glow_ramp, top_of
from preprocess.playback.page.still import STAGE, glow_cells
from preprocess.preview.drawing.canvas import Viewport
from preprocess.preview.heat_map.scale import heat_scale
from preprocess.recipe.load import load_recipe
from preprocess.units import digits
from preprocess.write.svg.png_bytes import palette_png_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.marking.prediction import Prediction
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.pipeline import Conversion
    from preprocess.playback.block.heat_constants import HeatConstants

FERN = Path(__file__).parents[1] / "fixtures" / "jobs" / "fern" / "fern.yaml"
FRAMES, SLOWER, HOLD, PLAYS = 22, 12, 1.8, 3
"""Pictures of a play, how much slower than the beam they follow, s at its end, and plays."""

BEFORE, AFTER = 0.26, 0.09
"""s shown before and after the hottest moment of the place, in the beam's own time."""

WINDOW, CELL = (8.0, 5.0), 0.1
"""Width and height of the close-up, and of its cells, mm."""

PLACE = 57.3, 14.4
"""mm, in a leaflet that every round passes."""

OLD, REACH = 3.0, 2.0
"""s and mm beyond which what was lit shows no more."""

FAINT, DONE, GREY = 8, 1, "#39414c"
"""Steps of the ramp that are not told from none; number and colour of cold rows that are marked."""

FOOT = (
    f"One close-up, {SLOWER} times slower. The brighter, the hotter: "
    "orange is even, pale too heavy."
)
WIDE = 72.0
"""Width of one side in the units of the picture."""

PAGE = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 width="960" height="424" viewBox="0 0 152 67">
<title>A fern's leaflets while the beam marks them, as drawn and as evenmark rewrites them</title>
<style type="text/css">
text {{ font: 3.1px Helvetica, Arial, sans-serif; fill: #222 }}
.head {{ font-weight: bold; font-size: 4px }}
.far {{ text-anchor: end }}
image {{ image-rendering: auto }}
.art {{ fill: none; stroke: #aab4c2; stroke-width: .25 }}
.frame {{ opacity: 0; animation: frame {lasts}s step-end {plays} }}
.end {{ animation: end {lasts}s step-end {plays} }}
@keyframes frame {{ 0% {{ opacity: 1 }} {share}% {{ opacity: 0 }} }}
@keyframes end {{ 0% {{ opacity: 0 }} {played}% {{ opacity: 1 }} }}
@media (prefers-reduced-motion: reduce) {{ .frame, .end {{ animation: none }} }}
</style>
<rect width="152" height="67" fill="#fff"/>
{sides}
<text x="2" y="63.6">{foot}</text>
</svg>
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One side: what its rows warm, index of 1 K, corner of the close-up, and when it begins."""

    artwork: Artwork
    prediction: Prediction
    heat: HeatConstants
    exposures: tuple[Exposure, ...]
    scale: float
    corner: tuple[float, float]
    begins: float
    back: float


@cache
def fern() -> tuple[Conversion, tuple[Prediction, Prediction]]:
    """The fern through its recipe, and its two predictions in full."""
    loaded = load_recipe(FERN)
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    return result, predict_both(result)


def film(result: Conversion, predicted: tuple[Prediction, Prediction]) -> str:
    """The SVG of a conversion and its two predictions."""
    artworks = result.drawn, result.after
    scenes = [_scene(result, a, p, PLACE) for a, p in zip(artworks, predicted, strict=True)]
    scale = heat_scale(predicted[1].heat)
    top = top_of(scale, max(one.heat.largest for one in predicted))
    names = ("As drawn", "As rewritten")
    sides = [
        line
        for n, (name, scene) in enumerate(zip(names, scenes, strict=True))
        for line in _side(scene, top, 2 + 76 * n, name)
    ]
    plays = (BEFORE + AFTER) * SLOWER
    lasts = plays + HOLD
    return PAGE.format(
        lasts=digits(lasts, 4),
        plays=PLAYS,
        share=digits(100 * plays / FRAMES / lasts, 4),
        played=digits(100 * plays / lasts, 4),
        sides="\n".join(sides),
        foot=FOOT,
    )


def _told(prediction: Prediction) -> str:
    figures = prediction.objective.likely
    hot, cold = signed_percent(figures.hot), signed_percent(figures.cold)
    return f"Predicted: hottest place {hot}, coldest {cold}"


def _scene(
    result: Conversion, artwork: Artwork, prediction: Prediction, place: tuple[float, float]
) -> Scene:
    plan, schedule = prediction.plan, prediction.schedule
    heat = heat_constants(result.bench, [len(artwork.parts)], plan.steps)
    exposures = exposures_of(plan, schedule, heat.medium.watts, artwork.parts[0])
    swept = plan.steps[exposures[0].step]
    own = Scene(
        artwork=artwork,
        prediction=prediction,
        heat=heat,
        exposures=exposures,
        scale=heat.scale(swept, exposures[0].speed),
        corner=(place[0] - WINDOW[0] / 2, place[1] - WINDOW[1] / 2),
        begins=0.0,
        back=0.0,
    )
    passes = sorted(_passes(exposures, place))
    hottest, back = max(
        (float(_warmth(own, [place[0]], [place[1]], t + 2e-4)[0, 0]), t, back) for t, back in passes
    )[1:]
    return replace(own, begins=hottest - BEFORE, back=back)


def _passes(
    exposures: Sequence[Exposure], place: tuple[float, float]
) -> Iterator[tuple[float, float]]:
    """When the beam passes the place, and how long after it begins its next row."""
    for one in exposures:
        near = np.abs(one.y[one.row] - place[1]) <= one.pitch
        near &= (one.start <= place[0]) & (one.end >= place[0])
        apart = np.append(np.diff(one.at), 0.0)
        for run in np.flatnonzero(near):
            yield float(visit_times(one, place[0])[run]), float(apart[one.row[run]])


def _warmth(scene: Scene, x: Sequence[float], y: Sequence[float], time: float) -> np.ndarray:
    """Index at a moment on a grid, rows × columns."""
    medium, total = scene.heat.medium, np.zeros((len(y), len(x)))
    x, y = np.asarray(x), np.asarray(y)
    (solid,) = scene.heat.solids.values()
    for one in scene.exposures:
        runs = _recent(one, x, y, time)
        if not len(runs):
            continue
        age = time - np.stack([visit_times(one, u)[runs] for u in x], axis=-1)[:, None, :]
        own = own_row(solid, medium.sigma, (medium.smooth,), one.speed)
        start, end, energy = (a[runs, None, None] for a in (one.start, one.end, one.energies))
        across = y[None, :, None] - one.y[one.row[runs]][:, None, None]
        kelvin = solid.run(
            energy, (start, end), (x[None, None, :], across), np.maximum(age, own.lag),
            sigma=medium.sigma, smooth=medium.smooth,
        )  # fmt: skip
        total += np.where(age >= 0, kelvin, 0.0).sum(axis=0)
    return scene.scale * total


def _recent(one: Exposure, x: np.ndarray, y: np.ndarray, time: float) -> np.ndarray:
    """Runs that were entered lately, near the grid."""
    v = one.y[one.row]
    late = (one.entered <= time) & (one.entered > time - OLD)
    late &= (v > y[0] - REACH) & (v < y[-1] + REACH)
    return np.flatnonzero(late & (one.start < x[-1] + REACH) & (one.end > x[0] - REACH))


def _side(scene: Scene, top: float, left: float, name: str) -> Iterator[str]:
    high = WIDE * WINDOW[1] / WINDOW[0]
    size = f'width="{WIDE:.0f}" height="{digits(high, 4)}" preserveAspectRatio="none"'
    yield f'<g transform="translate({left:.0f} 8)">'
    yield f'<text class="head" y="-2.4">{name}</text>'
    back = f"beam back after {digits(1000 * scene.back, 2)} ms"
    yield f'<text class="far" x="{WIDE:.0f}" y="-2.4">{back}</text>'
    yield f'<rect width="{WIDE:.0f}" height="{digits(high, 4)}" fill="{STAGE}"/>'
    end, _ = glow_cells(scene.prediction.heat.images, _box(scene), top)
    clip = f"art-{left:.0f}"
    yield f'<clipPath id="{clip}">{_outline(scene)}</clipPath>'
    end_png = _png(end, glow_ramp())
    yield f'<image class="end" {size} clip-path="url(#{clip})" xlink:href="{end_png}"/>'
    every = (BEFORE + AFTER) / FRAMES
    for n in range(FRAMES):
        cells = _frame(scene, scene.begins + (n + 1) * every, top)
        delay = digits(n * every * SLOWER, 4)
        ramp = (glow_ramp()[0], GREY, *glow_ramp()[2:])
        when = f'style="animation-delay:{delay}s"'
        yield f'<image class="frame" {when} {size} xlink:href="{_png(cells, ramp)}"/>'
    yield f'<svg {size} viewBox="0 0 {WIDE:.0f} {digits(high, 4)}">{_outline(scene)}</svg>'
    yield f'<text y="{digits(high + 5, 4)}">{_told(scene.prediction)}</text>'
    yield "</g>"


def _box(scene: Scene) -> tuple[float, float, float, float]:
    (x, y), (wide, high) = scene.corner, WINDOW
    return x, y, x + wide, y + high


def _frame(scene: Scene, time: float, top: float) -> np.ndarray:
    """Numbers of colours at a moment: glow, else marked, else nothing."""
    x = scene.corner[0] + CELL * (np.arange(round(WINDOW[0] / CELL)) + 0.5)
    y = scene.corner[1] + CELL * (np.arange(round(WINDOW[1] / CELL)) + 0.5)
    step = np.rint(_warmth(scene, x, y, time) / top * (GLOW_STEPS - 1))
    glow = np.clip(step, 0, GLOW_STEPS - 1).astype(np.uint8)
    return np.where(glow >= FAINT, glow, np.uint8(DONE) * _marked(scene, x, y, time))


def _marked(scene: Scene, x: np.ndarray, y: np.ndarray, time: float) -> np.ndarray:
    found = np.zeros((len(y), len(x)), bool)
    for one in scene.exposures:
        v = one.y[one.row]
        near = (one.entered <= time) & (v > y[0] - 1) & (v < y[-1] + 1)
        for run in np.flatnonzero(near & (one.start < x[-1]) & (one.end > x[0])):
            rows = np.abs(y - v[run]) <= 0.51 * one.pitch
            lit = (x >= one.start[run]) & (x <= one.end[run])
            found |= rows[:, None] & lit[None, :]
    return found


def _outline(scene: Scene) -> str:
    areas = [shape.geometry for shape in scene.artwork.shapes if shape.is_engraved_area]
    window = shapely.box(*_box(scene)).buffer(1)
    shown = union([shapely.MultiPolygon([part]) for part in _parts(union(areas), window)])
    view = Viewport(scale=WIDE / WINDOW[0], origin=scene.corner, corner=(0.0, 0.0))
    return f'<path class="art" d="{view.data(shown)}"/>'


def _parts(areas: shapely.MultiPolygon, window: shapely.Polygon) -> list[shapely.Polygon]:
    """Areas that reach into the window; hairline gaps between strips are closed."""
    closed = areas.buffer(2e-3).buffer(-2e-3)
    return [
        part for part in shapely.get_parts(shapely.intersection(closed, window)) if part.area > 0
    ]


def _png(cells: np.ndarray, ramp: Sequence[str]) -> str:
    data = palette_png_bytes(cells.astype(np.uint8), ramp)
    return f"data:image/png;base64,{base64.b64encode(data).decode()}"
