"""Random artwork: leaflets and seeds on a lattice, rings with islands, tiles with shared edges.

Everything is built from whole cells of 1 mm and from discs well inside a cell, so that a raster of
the lattice tells beyond doubt what is connected; the same art is then turned by any angle.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source

SIZE = 16
MIDDLE = (20.0, 20.0)
CORNER = MIDDLE[0] - SIZE / 2
ENGRAVE = {Operation.ENGRAVE: Settings(power=0.5, speed=900.0, pitch=0.1)}


@st.composite
def leaflets(draw):
    """A rectangle of whole cells."""
    x, y = draw(st.integers(0, SIZE - 1)), draw(st.integers(0, SIZE - 1))
    w, h = draw(st.integers(1, min(6, SIZE - x))), draw(st.integers(1, min(6, SIZE - y)))
    return [box(x, y, x + w, y + h)]


@st.composite
def seeds(draw):
    """A disc inside a cell."""
    x, y = draw(st.integers(0, SIZE - 1)), draw(st.integers(0, SIZE - 1))
    return [Point(x + 0.5, y + 0.5).buffer(0.35, quad_segs=draw(st.integers(2, 9)))]


@st.composite
def rings(draw):
    """A frame of cells, with or without an island in its hole."""
    x, y = draw(st.integers(0, SIZE - 5)), draw(st.integers(0, SIZE - 5))
    frame = box(x, y, x + 5, y + 5) - box(x + 1, y + 1, x + 4, y + 4)
    if draw(st.booleans()):
        return [MultiPolygon([frame, box(x + 2, y + 2, x + 3, y + 3)])]
    return [frame]


@st.composite
def tiles(draw):
    """Rows of tiles of unlike widths that fill a rectangle: shared edges and T-junctions."""
    x, y = draw(st.integers(0, SIZE - 6)), draw(st.integers(0, SIZE - 4))
    found = []
    for row in range(draw(st.integers(1, 4))):
        joints = sorted(draw(st.sets(st.integers(1, 59), max_size=4)))
        edges = [x, *(x + joint / 10 for joint in joints), x + 6]
        found += [box(a, y + row, b, y + row + 1) for a, b in pairwise(edges)]
    return found


def areas(least=1):
    """Areas on the lattice, in order of painting."""
    one = st.one_of(leaflets(), seeds(), rings(), tiles())
    return st.lists(one, min_size=least, max_size=7).map(lambda many: [a for m in many for a in m])


angles = st.one_of(
    st.sampled_from([0.0, 90.0, 180.0]), st.floats(0.1, 179.9, allow_nan=False).map(float)
)


def turned(geometry, angle):
    """Put the lattice on the page, turned, and rounded as a drawing is when it is read."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def place(points):
        x, y = (points + CORNER - MIDDLE).T
        return np.round(np.stack((x * c + y * s, y * c - x * s), 1) + MIDDLE, 6)

    return shapely.transform(geometry, place)


def shape(name, geometry, *, layer="leaflets", label="Leaflets", operation=Operation.ENGRAVE):
    area = MultiPolygon(list(shapely.get_parts(geometry)))
    source = Source(id=name, label=label, geometry=area)
    return Shape(id=name, layer=layer, operation=operation, geometry=area, sources=(source,))


def artwork(shapes, **more):
    names = dict.fromkeys([s.layer for s in shapes] or ["leaflets"])
    layers = tuple(Layer(name=n, operation=Operation.ENGRAVE, settings=ENGRAVE) for n in names)
    return Artwork(page=Page(width=40, height=40), shapes=tuple(shapes), layers=layers, **more)


def drawn(painted, angle=0.0):
    """An artwork of these areas, one element each."""
    return artwork([shape(f"a{i}", turned(area, angle)) for i, area in enumerate(painted)])


def raster(painted, per_cell=20):
    """Which pixels of the lattice any of the areas covers, told by their centres."""
    at = (np.arange(SIZE * per_cell) + 0.5) / per_cell
    x, y = np.meshgrid(at, at)
    lit = np.zeros(x.shape, dtype=bool)
    for area in painted:
        lit |= shapely.contains_xy(area, x, y)
    return lit
