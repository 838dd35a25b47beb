"""Artwork for the tests of marking: drawn by hand, in the nursery's manner."""

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape

ENGRAVED = Settings(
    power=0.5, speed=300.0, pitch=0.1, direction=Direction.ONE_WAY, angle=0.0, repeats=1
)


def area_of(*polygons):
    return MultiPolygon(list(shapely.get_parts(shapely.union_all(polygons))))


def shape(geometry, layer="artwork", *, name="leaf", level=None, bars=None, operation=None):
    if isinstance(geometry, Polygon):
        geometry = MultiPolygon([geometry])
    lines = isinstance(geometry, MultiLineString)
    return Shape(
        id=name,
        layer=layer,
        operation=operation or (Operation.SCORE if lines else Operation.ENGRAVE),
        geometry=geometry,
        sources=(),
        level=level,
        bars=bars,
    )


def artwork(*shapes, settings=ENGRAVED, parts=(), page=None, shares=(), score=None):
    """One artwork; `settings` is one for all layers or a dict by layer name."""
    names = list(dict.fromkeys(s.layer for s in shapes))
    by_name = settings if isinstance(settings, dict) else dict.fromkeys(names, settings)
    layers = tuple(
        Layer(
            name=name,
            operation=None,
            settings={
                Operation.ENGRAVE: by_name.get(name, ENGRAVED),
                Operation.SCORE: score or Settings(speed=20.0, power=0.3),
                Operation.CUT: Settings(speed=10.0, power=1.0),
            },
            shares=shares,
        )
        for name in names
    )
    return Artwork(
        page=page or Page(width=100, height=80),
        shapes=tuple(shapes),
        layers=layers,
        parts=tuple(parts),
    )


def square(x, y, side):
    return box(x, y, x + side, y + side)


def triangle(x=0.0, y=0.0, width=36.0, height=50.0):
    """A triangle: rows shorten evenly down to a point, so that their figures follow by hand."""
    return Polygon([(x, y), (x + width, y), (x + width / 2, y + height)])


def blade(length, width, degrees):
    """A leaf between two parabolas, laid slanted: a tip at both ends, widest in the middle."""
    t = np.linspace(0.0, 1.0, 81)
    edge = np.stack((length * t, 2 * width * t * (1 - t)), axis=1)
    outline = np.concatenate((edge, edge[-2:0:-1] * (1, -1)))
    slanted = rotate(Polygon(outline), degrees, origin=(0, 0))
    return translate(slanted, -slanted.bounds[0], -slanted.bounds[1])
