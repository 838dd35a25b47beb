"""Cases in fixtures/passes: how they are run, read and compared.

``python -m tests.passes.cases PASS/CASE…`` writes out.svg anew. Look at it, and work out by hand
what notes.txt states, before you keep it: the notes are the test, the picture is the record.

Facts in notes.txt are lines `key: value`; all other lines are prose. Keys are

    shapes, pieces, holes   paths, connected areas, holes in them
    area_mm2, length_mm     of engraved areas; of scored and cut lines
    box_mm                  left top right bottom of all that is marked
    ids                     ids of the paths in marking order
    findings                codes that the run must bring up

with `LAYER.` before the key for one output layer. A number may carry its tolerance, as in
`area_mm2: 12.57 ± 0.01`; without one it is 0.001.
"""

from __future__ import annotations

import base64
import io
import re
import sys
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from PIL import Image
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.affinity import affine_transform

from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe

FOLDER = Path(__file__).parents[2] / "fixtures" / "passes"
CASES = sorted(path.parent for path in FOLDER.glob("*/*/recipe.yaml"))
SVG = "{http://www.w3.org/2000/svg}"
FACT = re.compile(r"^(?:([\w-]+)\.)?(\w+): (.+)$", re.MULTILINE)
KEYS = ("shapes", "pieces", "holes", "area_mm2", "length_mm", "box_mm", "ids", "findings")


@dataclass(frozen=True)
class Written:
    """One path of a written file, read without any code of the program."""

    layer: str
    id: str
    geometry: MultiPolygon | MultiLineString

    @property
    def filled(self):
        return self.geometry.geom_type == "MultiPolygon"


def run(case):
    """The recipe as loaded, and what became of the drawing."""
    loaded = load_recipe(case / "recipe.yaml")
    return loaded, convert(loaded, (case / "in.svg").read_bytes(), f"{case.name}/in.svg")


def paths_of(data):
    """All paths and images of a written file, in order; of images the pixels that mark."""
    return [
        Written(group.get("id"), one.get("id"), _PAINTED[one.tag](one))
        for group in ET.fromstring(data).iter(f"{SVG}g")
        for one in group
        if one.tag in _PAINTED
    ]


def _pixels(image):
    x, y, wide, high = (float(image.get(name)) for name in ("x", "y", "width", "height"))
    data = image.get("{http://www.w3.org/1999/xlink}href").partition(",")[2]
    with Image.open(io.BytesIO(base64.b64decode(data))) as opened:
        greys = np.array(opened)
    rows, columns = greys.shape
    row, column = np.nonzero(greys < 255)
    boxes = shapely.box(
        x + wide * column / columns,
        y + high * row / rows,
        x + wide * (column + 1) / columns,
        y + high * (row + 1) / rows,
    )
    numbers = re.findall(r"-?[\d.]+", image.get("transform", "matrix(1 0 0 1 0 0)"))
    area = affine_transform(shapely.union_all(boxes), [float(numbers[n]) for n in _ORDER])
    return MultiPolygon(list(shapely.get_parts(area)))


_ORDER = (0, 2, 1, 3, 4, 5)
"""Numbers of a matrix of SVG as shapely takes them."""


def _geometry(path):
    subpaths = [
        (np.reshape([float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)], (-1, 2)), "Z" in text)
        for text in re.findall(r"M[^M]*", path.get("d"))
    ]
    if path.get("fill") == "none":
        return MultiLineString(
            [LineString([*points, *(points[:1] if closed else ())]) for points, closed in subpaths]
        )
    area = MultiPolygon()
    for points, _ in subpaths:
        area = area.symmetric_difference(Polygon(points))
    return MultiPolygon(list(shapely.get_parts(area)))


_PAINTED = {f"{SVG}path": _geometry, f"{SVG}image": _pixels}


def facts_of(notes):
    """The facts that a note states: (layer or None, key, value)."""
    return [(layer or None, key, value) for layer, key, value in FACT.findall(notes)]


def measured(paths, key):
    """What the paths of a file come to."""
    areas = [path.geometry for path in paths if path.filled]
    lines = [path.geometry for path in paths if not path.filled]
    polygons = [polygon for area in areas for polygon in area.geoms]
    return {
        "shapes": lambda: [len(paths)],
        "pieces": lambda: [len(polygons)],
        "holes": lambda: [sum(len(polygon.interiors) for polygon in polygons)],
        "area_mm2": lambda: [sum(area.area for area in areas)],
        "length_mm": lambda: [sum(line.length for line in lines)],
        "box_mm": lambda: shapely.total_bounds([*areas, *lines]).tolist(),
    }[key]()


def main(names):
    """Write out.svg of the named cases, or of all that have none."""
    for case in CASES:
        name = f"{case.parent.name}/{case.name}"
        if name in names or (not names and not (case / "out.svg").exists()):
            _, result = run(case)
            if result.data is None:
                sys.exit(f"{name}: nothing to write: {result.findings[0]}")
            (case / "out.svg").write_bytes(result.data)
            print(name)


if __name__ == "__main__":
    main(sys.argv[1:])
