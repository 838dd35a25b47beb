"""Parts written by evenmark at a believed spread, marked at twice of it, measured and corrected.

The recipe believes in a spread of 0.3 mm. The second simulator follows the beam over the file
that was written, in a plastic of 0.6 mm that conducts a tenth more. Tones level off, with noise of
`made_causes`. The next recipe is written, and followed in the same way. No coupon is known. The
figure is the standard deviation of the logarithm of the heat over the places that a photo would
show, past edges and cold first rows, and as softly as it shows them.

    python -m tests.corrected_parts 6 300
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from scipy.interpolate import NearestNDInterpolator
from scipy.ndimage import gaussian_filter

from preprocess.correction.choice import corrected_job
from preprocess.correction.solved_anew import SolvedAnew
from preprocess.errors import Refusal
from preprocess.photo.map_grid import (
    SMOOTH,
    MapGrid,
    grid_of,
    index_map,
    smoothed,
    twice_the_spread,
)
from preprocess.photo.measured import MeasuredJob
from preprocess.process_limits import convert_within_limits
from preprocess.recipe.load import load_recipe
from tests.made_causes import FAST
from tests.second_simulator.arts import drawing, outlines
from tests.second_simulator.beam import Laser, light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.greys import (
    Curve,
    Way,
    cells_and_light,
    grey_light,
    grey_peaks,
    read_pictures,
)
from tests.second_simulator.heat import peaks
from tests.second_simulator.written import settings_typed

if TYPE_CHECKING:
    from preprocess.correction.correct import Correction
    from preprocess.pipeline import Conversion

BELIEVED, TRUE = 0.3, 0.6
MOTIFS = "blade", "block with a tail", "waist"
FINE = 4
"""Places along each side of a value of the map: a photo averages rows, which differ two ways."""

EDGE = 0.3
"""mm from an outline within which a photo shows no tone."""

RECIPE = """recipe: 1
design: motif.svg
machine: {{name: bench galvo, turnaround: 1.2 ms, fly_back: 2500 mm/s, spot: 0.08 mm,
  layer_pause: 0.3 s, raster_groups: each-colour, first_row: edge,
  grey: {{from: 5 %, to: 100 %, gamma: 1}}}}
filament: {{name: moss PLA, polymer: PLA, spread: {spread} mm{sure}}}
layers:
  - {{name: motif, operation: engrave, choose: {{select: "*"}}}}
settings:
  engrave: {{power: 60 %, speed: 400 mm/s, pitch: 0.1 mm, direction: {direction}, angle: 0 deg}}
passes: {passes}
"""


class How(NamedTuple):
    """Passes of a recipe, and the direction of its rows."""

    passes: str
    direction: str


WAYS = {
    "four colours by heat": How(
        "[merge, {tag-power: {by: heat, levels: 4}}, solve-power]", "one-way"
    ),
    "one image of greys": How("[merge, {grey: {images: 1}}]", "two-way"),
}


def written(
    motif: str, way: str, spread: float, sure: tuple[float, float] | None = None, powers: str = ""
) -> Conversion:
    """The file of a motif, at a spread and its interval (mm), or with powers not solved."""
    held = {**WAYS[way]._asdict(), "spread": spread, "sure": ""}
    if sure:
        held["sure"] = f", intervals: {{spread: [{sure[0]:.4f} mm, {sure[1]:.4f} mm]}}"
    if powers:
        held["passes"] = f"[merge, {{tag-power: {{by: heat, levels: 4, powers: [{powers}]}}}}]"
    loaded = load_recipe(None, RECIPE.format(**held), "motif.svg")
    result = convert_within_limits(loaded, drawing(motif), "motif.svg")
    assert result.data is not None, result.findings
    return result


def true_heat(result: Conversion, motif: str, way: str, grid: MapGrid) -> np.ndarray:
    """Logarithms of the true heat on a grid: that of the nearest marked place."""
    if "greys" in way:
        sweep = Way(400.0, two_way=WAYS[way].direction == "two-way")
        rows = grey_light(read_pictures(result.data), Curve(0.05, 1.0), sweep, Laser())
        light, cells = cells_and_light(rows, grey_peaks(rows, FAST, (TRUE,)))
    else:
        light = light_of(read_paths(result.data), settings_typed(result), Laser())
        cells = peaks(light, FAST, (TRUE,))
    at = np.column_stack([cells.x, light.y[cells.stretch]])
    near = NearestNDInterpolator(at, np.log(cells.peak[:, 0]))
    fine = np.arange(-FINE / 2 + 0.5, FINE / 2) * grid.step / FINE
    heat = np.mean(
        [near(grid.places[..., 0] + u, grid.places[..., 1] + v) for u in fine for v in fine], axis=0
    )
    return smoothed(np.where(inside(motif, grid, 0.0), heat, np.nan), SMOOTH / grid.step)


def inside(motif: str, grid: MapGrid, edge: float) -> np.ndarray:
    """Places of a grid within a motif, further than `edge` (mm) from its outline."""
    area = shapely.buffer(shapely.union_all([shapely.Polygon(r) for r in outlines(motif)]), -edge)
    shapely.prepare(area)
    return shapely.contains_xy(area, grid.places[..., 0], grid.places[..., 1])


def measured(
    result: Conversion, heat: np.ndarray, seen: np.ndarray, grid: MapGrid, seed: int
) -> MeasuredJob:
    """What a photo would tell of a part."""
    random = np.random.default_rng(seed)
    index, warm = index_map(result.after, result.bench, grid)
    wider, _ = index_map(result.after, result.bench, grid, spread=twice_the_spread(result.bench))
    seen = seen & warm & np.isfinite(index) & np.isfinite(wider)
    span = random.choice([-1, 1]) * random.uniform(25, 50)
    excess = random.uniform(1.8, 3.0) * (heat - np.median(heat[seen]))
    tone = span * (1 - np.exp(-0.8 * np.exp(excess)))
    for size, length in ((0.8, 0.25), (0.6, 4.0)):
        field = gaussian_filter(random.standard_normal(grid.shape), length / grid.step)
        tone = tone + size * field / field.std()
    return MeasuredJob(
        name="motif.yaml",
        drawing=result.digest,
        origin=grid.origin,
        step=grid.step,
        ground=60.0,
        photos=(),
        tone=smoothed(np.where(seen, tone, np.nan), SMOOTH / grid.step),
        index=np.where(seen, index, np.nan),
        wider=np.where(seen, wider, np.nan),
        noise=0.6,
    )


class Corrected(NamedTuple):
    """Unevenness of the heat before and after, and the correction."""

    before: float
    after: float
    told: Correction | SolvedAnew

    @property
    def how(self) -> str:
        """Where the next recipe went."""
        if isinstance(self.told, SolvedAnew):
            return f"spread {self.told.learned.shown:.2f}, next {self.told.spread:.2f} mm"
        return "powers " + ", ".join(f"{one.now:.2f}" for one in self.told.powers)


def corrected(motif: str, way: str, seed: int) -> Corrected:
    """One part, marked, measured and corrected."""
    first = written(motif, way, BELIEVED)
    corners = np.concatenate(outlines(motif))
    grid = grid_of((*corners.min(axis=0), *corners.max(axis=0)))
    heat, shown = true_heat(first, motif, way, grid), inside(motif, grid, EDGE)
    job = measured(first, heat, shown, grid, seed)
    found = corrected_job(
        job, first.after, first.bench, lambda *spread: written(motif, way, *spread).after
    )
    if isinstance(found, SolvedAnew):
        new = written(motif, way, found.spread, found.interval)
    else:
        powers = ", ".join(f"{100 * share:.2f} %" for share in found.shares(first.after))
        new = written(motif, way, BELIEVED, powers=powers)
    _, warm = index_map(new.after, new.bench, grid)
    seen = np.isfinite(job.tone) & warm
    after = true_heat(new, motif, way, grid)
    return Corrected(float(heat[seen].std()), float(after[seen].std()), found)


def main(count: int, first: int) -> None:
    """Print the unevenness before and after one correction, by way."""
    for way in WAYS:
        less = []
        for seed in range(first, first + count):
            motif = MOTIFS[seed % len(MOTIFS)]
            try:
                one = corrected(motif, way, seed)
            except Refusal as refusal:
                print(f"{way}: {motif}: refused: {refusal.found}", flush=True)
                continue
            less.append(100 * (1 - one.after / one.before))
            print(
                f"{way}: {motif}: {100 * one.before:.1f} % to {100 * one.after:.1f} %; "
                f"{one.how}; told {one.told.before:.1f} to {one.told.after:.1f} ΔL*",
                flush=True,
            )
        if less:
            print(f"{way}: {np.mean(less):.0f} % less, {np.min(less):.0f} % at least")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
