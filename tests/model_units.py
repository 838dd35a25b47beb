"""Parts drawn in other units than mm: is any of them read wrong without a word?

``python -m tests.model_units 20 7`` draws so many parts of 10 to 250 mm with a seed, each in five
units, as STL (which names none) and as 3MF (which names its own), and counts what becomes of them.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from preprocess.errors import UserError
from preprocess.model.bench.part import ModelUnit, Part
from preprocess.read.mesh.mesh_file import read_mesh
from preprocess.read.part.model_body import part_triangles
from tests.read.mesh.mesh_files import binary, box, document, item, mesh, package, solid

MM = {"micron": 1e-3, "millimeter": 1.0, "centimeter": 10.0, "inch": 25.4, "meter": 1000.0}
"""Units, by their names in a 3MF, as mm."""

NAMES = {"millimeter": "mm", "centimeter": "cm", "inch": "inch", "meter": "m"}
"""The same in a recipe; an STL in microns has none, and is refused by its size."""


def part(random: np.random.Generator) -> np.ndarray:
    """A plate with a rib, true to size: 10 to 250 mm long, 0.8 to 20 mm thick."""
    long = random.uniform(10, 250)
    wide, thick = long * random.uniform(0.3, 1), random.uniform(0.8, min(20, long / 3))
    rib = box(0, 0, thick, long, wide / 10, thick + random.uniform(0.4, 3))
    return np.concatenate([box(0, 0, 0, long, wide, thick), rib])


def outcome(data: bytes, name: str, true: np.ndarray, unit: str | None = None) -> str:
    """What becomes of a file: right, asked, told, or wrong without a word."""
    one = Part(model=name, unit=None if unit is None else ModelUnit(unit))
    try:
        got, found = part_triangles(read_mesh(data, name), one, name)
    except UserError:
        return "asked"
    if np.allclose(np.ptp(got, axis=(0, 1)), np.ptp(true, axis=(0, 1)), rtol=1e-5):
        return "right"
    return "told" if any(one.code == "model-unit" for one in found) else "wrong"


def outcomes(count: int, seed: int) -> Counter[tuple[str, str, str]]:
    """How often each kind of file and unit had which outcome."""
    random = np.random.default_rng(seed)
    found: Counter[tuple[str, str, str]] = Counter()
    for true in (part(random) for _ in range(count)):
        for unit, mm in MM.items():
            drawn = true / mm
            held = document(solid(1, mesh(drawn), "plate"), item(1), unit)
            found["3MF", unit, outcome(package(held), "a.3mf", true)] += 1
            found["STL", unit, outcome(binary(drawn), "a.stl", true)] += 1
            if unit in NAMES:
                said = outcome(binary(drawn), "a.stl", true, NAMES[unit])
                found["STL with unit:", unit, said] += 1
    return found


if __name__ == "__main__":
    for key, number in sorted(outcomes(*map(int, sys.argv[1:3])).items()):
        print(*key, number)
