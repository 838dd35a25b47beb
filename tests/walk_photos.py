"""The photos of docs/use/walkthrough.md: labels in their printed frame. Nothing of them is real.

The second simulator follows the beam over the file that a recipe of the walk writes, on the walk's
simulated filament; the photos are the tests' own. ``python -m tests.walk_photos`` writes them anew,
and the picture of the page that `measure` makes of the first.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from scipy.interpolate import NearestNDInterpolator
from scipy.ndimage import gaussian_filter

from preprocess.photo.frame.layout import layout_for
from preprocess.photo.frame.page import frame_svg
from preprocess.photo.frame.paper import paper_plan
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.browser import chromium
from tests.photos.light import LUMINANCE, lightness
from tests.photos.plastic import PX, area_mask, colours, plate, polygons
from tests.photos.scenes import frame_page
from tests.photos.shot import place_of, take
from tests.second_simulator.beam import Laser, light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.heat import Plastic, peaks
from tests.second_simulator.written import settings_typed
from tests.simulated_users import user
from tests.walkthrough import FILAMENT, FOLDER

PHOTOS = {"label.yaml": "as-drawn.jpg", "even.yaml": "even.jpg"}
PICTURE = FOLDER.parents[1] / "docs" / "use" / "pictures" / "measured.png"
PAGE = (760, 555)
"""Of the page's picture, in pixels."""

CAPACITY = 1.664e-3
"""Of PETG, J/mm³/K: 1.28 g/cm³ times 1.3 J/g/K."""

SPAN, STEEP = 40.0, 2.4
"""ΔL* of the strongest mark, and how steeply the tone follows the heat."""


def heat_of(recipe: str) -> tuple[bytes, np.ndarray, np.ndarray]:
    """The written drawing; the log heat of each cell of it, and its place, n × 2."""
    result = convert(load_recipe(FOLDER / recipe), (FOLDER / "fern-label.svg").read_bytes(), "")
    typed = settings_typed(result)
    light = light_of(read_paths(result.data), typed, Laser(each_colour=False))
    real = user(FILAMENT).filament
    plastic = Plastic(real.conductivity / 1000, CAPACITY, real.optical_depth)
    cells = peaks(light, plastic, (real.spread,))
    (angle,) = {np.radians(each.angle) for each in typed.values()}
    along, across = cells.x, light.y[cells.stretch]
    x = along * np.cos(angle) + across * np.sin(angle)
    y = across * np.cos(angle) - along * np.sin(angle)
    return result.data, np.log(cells.peak[:, 0]), np.column_stack([x, y])


def photo(recipe: str) -> bytes:
    """The photo of the label that a recipe marks."""
    svg, heat, at = heat_of(recipe)
    drawn = polygons(svg.decode())
    wide, high = (float(x) for x in svg.decode().split('viewBox="0 0 ')[1].split('"')[0].split())
    rings = [[r for r in path if r[1]] for path in drawn.values()]
    areas = [area_mask(some, (wide, high)) for some in rings if some]
    mask = np.clip(np.sum(areas, axis=0), 0, 1)
    x, y = np.meshgrid(*((np.arange(round(side * PX)) + 0.5) / PX for side in (wide, high)))
    known = NearestNDInterpolator(at, heat)(x, y)
    excess = STEEP * (gaussian_filter(known, 0.1 * PX) - np.median(heat))
    random = np.random.default_rng(FILAMENT)
    ground, mark = colours(random, "moss", lighter=True)
    low, full = (float(colour @ LUMINANCE) for colour in (ground, mark))
    wanted = float(lightness(low)) + SPAN * (1 - np.exp(-0.8 * np.exp(excess)))
    share = (((wanted + 16) / 116) ** 3 - low) / (full - low)
    layout = layout_for((wide, high))
    plan = paper_plan(layout, "A6")
    page = frame_page(frame_svg(layout, plan), plan.corner, layout.size, random)
    middle = np.array(page.corner) + np.array(page.size) / 2
    shot = take(
        random,
        page.raster,
        plate(mask * np.clip(share, 0, 1), ground, mark, random),
        place=place_of(random, (wide, high), middle),
        height=3.0,
        wide=1100,
        frame_box=(*page.corner, *page.size),
        conditions={"glare": 0.0, "blur": 0.6, "exposure": 0.8},
    )
    return shot.data


def page_picture(recipe: str, name: str) -> bytes:
    """The upper part of the page of a measured photo, down to its maps, as Chromium shows it."""
    with TemporaryDirectory() as folder, chromium() as browser:
        page = Path(folder) / "measured.html"
        call = ["measure", str(FOLDER / recipe), str(FOLDER / name), "-o", str(page)]
        subprocess.run([sys.executable, "-m", "preprocess", *call], check=True)
        with browser.page(page, PAGE) as shown:
            return shown.screenshot()


if __name__ == "__main__":
    for recipe, name in PHOTOS.items():
        (FOLDER / name).write_bytes(photo(recipe))
    PICTURE.write_bytes(page_picture(*next(iter(PHOTOS.items()))))
