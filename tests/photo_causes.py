"""Causes of unevenness told through made-up photos of finished parts.

Motifs, truth and causes are those of `made_causes`; the photo is the tests' own (`tests.photos`),
and the predicted index is the product's. Letters are too thin for a map, and are passed over.

    python -m tests.photo_causes 24 7000
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.interpolate import NearestNDInterpolator
from shapely import MultiPolygon, box

from preprocess.causes.causes import causes_of
from preprocess.causes.found import HEAT
from preprocess.errors import Refusal
from preprocess.photo import job_map
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from preprocess.photo.registering.marked_drawing import marked_drawing
from tests.made_causes import CAUSES, FAST, MOTIFS, TRUE, other_tone
from tests.photos.__main__ import frame_of
from tests.photos.light import LUMINANCE, lightness
from tests.photos.plastic import GROUNDS, PX, area_mask, can_be_lighter, colours, plate
from tests.photos.shot import place_of, take
from tests.second_simulator.arts import HIGH, WIDE, outlines
from tests.second_simulator.beam import light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.heat import peaks
from tests.second_simulator.written import Job, laser_of, settings_typed, written

SEEN = [name for name in MOTIFS if name != "lettering"]
SIZE = WIDE, HIGH
CONTRAST = 30.0
"""ΔL* between mark and plastic at least, so that uneven marks have room."""


@lru_cache(maxsize=len(SEEN))
def motif(name: str):
    """A motif: its conversion, drawing on a part, mask, and true log heat by spread."""
    job = Job(motif=name, direction="two-way" if MOTIFS[name] else "one-way")
    result, _ = written(job)
    way = light_of(read_paths(result.data), settings_typed(result), laser_of(job))
    cells = peaks(way, FAST, TRUE)
    at = np.column_stack([cells.x, way.y[cells.stretch]])
    near = NearestNDInterpolator(at, np.arange(len(at)))
    x, y = np.meshgrid(*((np.arange(int(side * PX)) + 0.5) / PX for side in SIZE))
    mask = area_mask([(line, True) for line in outlines(name)], SIZE)
    heat = np.log(cells.peak)[near(x, y).astype(int)]
    part = MultiPolygon([box(0, 0, *SIZE)])
    return result, marked_drawing(replace(result.after, parts=(part,))), mask, x, y, heat


@lru_cache(maxsize=2 * len(SEEN))
def known_index(name: str, spread: float | None):
    result, drawing, *_ = motif(name)
    grid = job_map.grid_of(drawing.areas.bounds)
    return INDEX_MAP(result.after, result.bench, grid, spread=spread)


INDEX_MAP = job_map.index_map


def uneven(name: str, causes: frozenset[str], random: np.random.Generator) -> np.ndarray:
    """ΔL* that the causes add, over the plate."""
    _, _, mask, x, y, heat = motif(name)
    inside = mask > 0.5
    tone = np.zeros(mask.shape)
    held = np.zeros(int(inside.sum()))
    if HEAT in causes:
        log = heat[..., int(random.integers(len(TRUE)))][inside]
        curve = 1 - np.exp(-0.8 * np.exp(random.uniform(1.8, 3.0) * (log - np.median(log))))
        low, high = np.quantile(curve, [0.02, 0.98])
        curve = np.clip(curve, low, high)
        held += random.uniform(2, 5) * (curve - np.median(curve)) / curve.std()
    for cause in CAUSES[1:]:
        if cause in causes:
            held += other_tone(cause, x[inside], y[inside], random)
    tone[inside] = held
    return tone


def photo(name: str, tone: np.ndarray, page, random: np.random.Generator):
    """A photo of the part with the truth about it, and its thickness."""
    while True:
        ground_name = list(GROUNDS)[int(random.integers(len(GROUNDS)))]
        ground, mark = colours(random, ground_name, lighter=can_be_lighter(random, ground_name))
        low, high = (float(c @ LUMINANCE) for c in (ground, mark))
        whole = float(lightness(high) - lightness(low))
        if abs(whole) > CONTRAST:
            break
    mask = motif(name)[2]
    wanted = float(lightness(low)) + np.sign(whole) * (0.6 * abs(whole)) + np.sign(whole) * tone
    share = (((wanted + 16) / 116) ** 3 - low) / (high - low)
    raster = plate(mask * np.clip(share, 0, 1), ground, mark, random)
    thickness = random.uniform(1.5, 5.0)
    middle = np.array(page.corner) + np.array(page.size) / 2
    shot = take(
        random,
        page.raster,
        raster,
        place=place_of(random, SIZE, middle),
        height=thickness,
        wide=int(random.uniform(1200, 2000)),
        frame_box=(*page.corner, *page.size),
        conditions={"glare": 0.0},
    )
    return shot, thickness


def told(name: str, causes: frozenset[str], page, folder: str, random: np.random.Generator):
    """The causes that are told from one photo."""
    result, drawing, *_ = motif(name)
    shot, thickness = photo(name, uneven(name, causes, random), page, random)
    path = Path(folder) / "part.jpg"
    path.write_bytes(shot.data)
    reading = read_photo(read_picture(path), drawing, thickness + random.uniform(-0.2, 0.2))
    job_map.index_map = lambda _artwork, _bench, _grid, spread=None: known_index(name, spread)
    job = job_map.measured_job(
        name, result.digest, [reading], drawing, (result.after, result.bench)
    )
    return causes_of(job).parts


def main(count: int, first: int) -> None:
    """Print how many were told exactly, and in how many the largest is a true one."""
    exact = largest = refused = 0
    with tempfile.TemporaryDirectory() as folder:
        page = frame_of((60.0, 40.0), rng=np.random.default_rng(first))
        for seed in range(first, first + count):
            random = np.random.default_rng(seed)
            causes = frozenset(random.choice(CAUSES, 1 + seed % 2, replace=False).tolist())
            name = str(random.choice(SEEN))
            try:
                parts = told(name, causes, page, folder, random)
            except Refusal as refusal:
                print(seed, name, "refused:", refusal.found, flush=True)
                refused += 1
                continue
            exact += set(parts) == causes
            largest += next(iter(parts), None) in causes
            if set(parts) != causes:
                print(seed, name, sorted(causes), {k: round(v, 2) for k, v in parts.items()})
    kept = count - refused
    print(f"exactly right {exact}, largest is a true one {largest}, of {kept}; refused {refused}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
