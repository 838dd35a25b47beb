"""A garden label drawn by hand in code: leaflets that taper, a stem, a name to score, bars."""

from __future__ import annotations

import math

from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source

ENGRAVE = Settings(power=0.55, speed=900.0, pitch=0.1, angle=0.0)
SCORE = Settings(power=0.3, speed=250.0)


def leaflet(length: float, width: float) -> Polygon:
    """A leaflet that tapers at both ends, from the origin along +x."""
    steps = [i / 24 for i in range(25)]
    edge = [(length * t, width / 2 * math.sin(math.pi * t) ** 1.3) for t in steps]
    return Polygon(edge + [(x, -y) for x, y in edge[-2:0:-1]])


def frond(x: float = 40.0, y: float = 42.0, pairs: int = 6) -> MultiPolygon:
    """Leaflets in pairs up a stem; none touches another."""
    leaves = []
    for i in range(pairs):
        size = 11.0 - 1.2 * i
        for side in (0, 180):
            leaf = rotate(leaflet(size, 2.4), -35 if side == 0 else 215, origin=(0, 0))
            leaves.append(translate(leaf, x + (0.8 if side == 0 else -0.8), y - 5 * i))
    return MultiPolygon(leaves)


def dotted_disc(x: float, y: float) -> MultiPolygon:
    """A disc with a hole, and an island in the hole."""
    ring = Point(x, y).buffer(3).difference(Point(x, y).buffer(2))
    return MultiPolygon([ring, Point(x, y).buffer(0.6)])


def bars(left: float, right: float, top: float, bottom: float) -> MultiPolygon:
    """Two bars, left and right."""
    return MultiPolygon([box(left, top, left + 0.6, bottom), box(right - 0.6, top, right, bottom)])


def shape(name, layer, operation, geometry, **more) -> Shape:
    return Shape(
        id=name,
        layer=layer,
        operation=operation,
        geometry=geometry,
        sources=(Source(id=name, geometry=geometry),),
        **more,
    )


def fern_label(*, page: Page | None = None) -> Artwork:
    """Two levels of frond with bars, one disc, three scored strokes of a name, a guide."""
    leaves = list(frond().geoms)
    name = MultiLineString(
        [
            LineString([(20, 46), (24, 46), (24, 49.123456)]),
            LineString([(30, 46), (34, 46), (32, 49), (30, 46)]),
            LineString([(40.00001, 46), (44, 49)]),
        ]
    )
    shapes = (
        shape(
            "frond",
            "fronds",
            Operation.ENGRAVE,
            MultiPolygon(leaves[:6]),
            level=1,
            bars=bars(5, 75, 20, 40),
        ),
        shape("frond", "fronds", Operation.ENGRAVE, MultiPolygon(leaves[6:]), level=2),
        shape("disc", "dots", Operation.ENGRAVE, dotted_disc(62, 12)),
        shape("name", "name", Operation.SCORE, name),
        shape("help", "helpers", Operation.GUIDE, MultiPolygon([box(1, 1, 79, 51)])),
    )
    return Artwork(
        page=page or Page(width=80.0, height=52.0),
        shapes=shapes,
        layers=(
            Layer(
                name="fronds",
                operation=Operation.ENGRAVE,
                settings={Operation.ENGRAVE: ENGRAVE},
                shares=(1.0, 0.9),
            ),
            Layer(name="dots", operation=Operation.ENGRAVE, settings={Operation.ENGRAVE: ENGRAVE}),
            Layer(name="name", operation=Operation.SCORE, settings={Operation.SCORE: SCORE}),
            Layer(name="helpers", operation=Operation.GUIDE, settings={}),
        ),
        parts=(MultiPolygon([box(10, 4, 70, 50)]),),
        keep_off=(MultiPolygon([box(66, 44, 74, 52)]),),
    )
