"""Small artworks, and a reader of written files that shares nothing with the program."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.write.svg.svg_document import svg_bytes

ENGRAVE = Operation.ENGRAVE
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9")


def shape(name, geometry, layer="fronds", level=None):
    area = geometry if geometry.geom_type == "MultiPolygon" else MultiPolygon([geometry])
    return Shape(
        id=name,
        layer=layer,
        operation=ENGRAVE,
        geometry=area,
        sources=(Source(id=name, geometry=area),),
        level=level,
    )


def artwork(shapes, parts=(), *, angle=0.0, pitch=0.1, page=(60, 40), keep_off=(), shares=()):
    names = dict.fromkeys(s.layer for s in shapes)
    settings = {ENGRAVE: Settings(power=0.5, speed=900.0, pitch=pitch, angle=angle)}
    return Artwork(
        page=Page(width=page[0], height=page[1]),
        shapes=tuple(shapes),
        layers=tuple(
            Layer(name=n, operation=ENGRAVE, settings=settings, shares=shares) for n in names
        ),
        parts=tuple(MultiPolygon([part]) for part in parts),
        keep_off=tuple(MultiPolygon([area]) for area in keep_off),
    )


def leaf(x, y, length, width, turn=0.0, steps=24):
    """A leaf with two sharp ends, about a point."""
    t = np.linspace(0, 1, steps + 1)
    half = width / 2 * np.sin(np.pi * t)
    points = np.concatenate(
        [
            np.stack((length * (t - 0.5), half), 1),
            np.stack((length * (0.5 - t), -half[::-1]), 1)[1:-1],
        ]
    )
    c, s = math.cos(turn), math.sin(turn)
    return Polygon(points @ np.array([[c, s], [-s, c]]) + (x, y)).normalize()


def written(art):
    """Write the artwork; give back the area of each path, in page coordinates, by layer title."""
    from preprocess.model.artwork.output import output_layers

    ids = [output.id for output in output_layers(art)]
    data = svg_bytes(art, colours=dict(zip(ids, COLOURS, strict=False)))
    return read_areas(data)


def read_areas(data):
    """Even-odd areas of all filled paths of an SVG with M, L and Z only, by group title."""
    found = {}
    space = "{http://www.w3.org/2000/svg}"
    for group in ET.fromstring(data).iter(f"{space}g"):
        title = group.find(f"{space}title").text
        found[title] = [
            _area(path.get("d"))
            for path in group.iter(f"{space}path")
            if path.get("fill") != "none"
        ]
    return found


def _area(text):
    area = MultiPolygon()
    for subpath in re.findall(r"M[^M]*", text):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", subpath)]
        area = area.symmetric_difference(Polygon(np.reshape(numbers, (-1, 2))))
    return area


def turned(area, angle):
    """Into the row frame by the textbook rotation of a page whose y runs down."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return shapely.transform(
        area, lambda p: np.stack((p[:, 0] * c - p[:, 1] * s, p[:, 0] * s + p[:, 1] * c), 1)
    )


def row_pieces(area, angle, v):
    """Lit pieces (start, end) of the row at v, by cutting a long line with GEOS."""
    cut = turned(area, angle).intersection(LineString([(-1000, v), (1000, v)]))
    lines = [g for g in shapely.get_parts(cut) if g.length > 1e-7]
    ends = sorted((min(x), max(x)) for x in (g.xy[0] for g in lines))
    return np.array(ends).reshape(-1, 2)
