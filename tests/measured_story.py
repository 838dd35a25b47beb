"""The story of docs/use/correct.md: a part is marked, photographed, measured and corrected.

Nothing of it is real. The second simulator follows the beam over the file that evenmark wrote, in a
plastic that spreads heat twice as far as the recipe believes; the photo is the tests' own.

    python -m tests.measured_story FOLDER
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import NearestNDInterpolator

from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.corrected_parts import BELIEVED, RECIPE, TRUE, WAYS
from tests.made_causes import FAST
from tests.photo_causes import SIZE, photo
from tests.photos.__main__ import frame_of
from tests.photos.plastic import PX
from tests.second_simulator.arts import drawing
from tests.second_simulator.beam import Laser, light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.heat import peaks
from tests.second_simulator.written import settings_typed

MOTIF, WAY = "block with a tail", "four colours by heat"
SPAN, STEEP = 40.0, 2.4
"""ΔL* of the strongest mark, and how steeply the tone follows the heat."""


def told(folder: Path, *arguments: str) -> str:
    """What a command of evenmark says in a folder."""
    command = [sys.executable, "-m", "preprocess", *arguments]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def true_heat(folder: Path, recipe: str) -> tuple[np.ndarray, np.ndarray]:
    """Logarithm of the heat of every cell as it was marked, and its place, n × 2."""
    loaded = load_recipe(folder / recipe)
    result = convert(loaded, drawing(MOTIF), "motif.svg")
    light = light_of(read_paths(result.data), settings_typed(result), Laser())
    cells = peaks(light, FAST, (TRUE,))
    return np.log(cells.peak[:, 0]), np.column_stack([cells.x, light.y[cells.stretch]])


def photo_of(heat: np.ndarray, at: np.ndarray) -> bytes:
    """A photo of the part, whose tone follows the heat."""
    x, y = np.meshgrid(*((np.arange(int(side * PX)) + 0.5) / PX for side in SIZE))
    excess = STEEP * (NearestNDInterpolator(at, heat)(x, y) - np.median(heat))
    tone = np.clip(SPAN * (np.exp(-0.8) - np.exp(-0.8 * np.exp(excess))), -8, 8)
    random = np.random.default_rng(20)
    shot, _ = photo(MOTIF, tone, frame_of((60.0, 40.0), rng=random), random)
    return shot.data


def main(folder: Path) -> None:
    """Tell the story, and leave its files in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    text = RECIPE.format(**WAYS[WAY]._asdict(), spread=BELIEVED, sure="")
    part = f"part: {{outline: [{SIZE[0]:g} mm, {SIZE[1]:g} mm], thickness: 3 mm}}\n"
    (folder / "label.yaml").write_text(text + part)
    (folder / "motif.svg").write_bytes(drawing(MOTIF))
    heat, at = true_heat(folder, "label.yaml")
    (folder / "part.jpg").write_bytes(photo_of(heat, at))
    print(told(folder, "measure", "label.yaml", "part.jpg"))
    print(told(folder, "correct", "label.yaml", "label.measured.json", "-o", "next.yaml"))
    after, _ = true_heat(folder, "next.yaml")
    print(f"standard deviation of the log heat, cold rows too: {heat.std():.3f}, {after.std():.3f}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
