"""Double marking in one layer: areas over areas, lines along lines."""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import NOTHING, as_lines
from preprocess.geometry.overlay.arrangement import fill_arrangement
from preprocess.geometry.overlay.booleans import in_one_box, intersection, union
from preprocess.preview.overlay.alongside import run_along_earlier

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Geometries
    from preprocess.model.artwork.shape import Shape


def doubled_areas(shapes: Sequence[Shape]) -> MultiPolygon:
    """Overlap of two or more engraved shapes of one layer."""
    return union([_shared(areas) for areas in _by_layer(shapes)])


def surplus_area(shapes: Sequence[Shape]) -> float:
    """Area in mm² that is swept again, counted for each shape of a layer beyond the first."""
    return fsum(fsum(a.area for a in areas) - union(areas).area for areas in _by_layer(shapes))


def doubled_lines(shapes: Sequence[Shape]) -> MultiLineString:
    """Stretches that lie along two or more traced lines of one layer, once."""
    layers: dict[str, list[shapely.Geometry]] = {}
    for shape in shapes:
        if not shape.is_engraved_area:
            lines = shape.geometry.boundary if shape.is_area else shape.geometry
            layers.setdefault(shape.layer, []).append(lines)
    twice = (run_along_earlier(as_lines(lines)).along for lines in layers.values())
    return as_lines([run_along_earlier(lines).apart for lines in twice])


def _folded(areas: Geometries) -> tuple[MultiPolygon, MultiPolygon]:
    """Union of areas and what two or more of them share, two by two."""
    left = [(area, NOTHING) for area in areas]
    while len(left) > 1:
        left = [_both(left[n : n + 2]) for n in range(0, len(left), 2)]
    return left[0]


def _both(pair: Sequence[tuple[MultiPolygon, MultiPolygon]]) -> tuple[MultiPolygon, MultiPolygon]:
    if len(pair) == 1:
        return pair[0]
    (one, doubled), (other, also) = pair
    return union([one, other]), union([doubled, also, intersection(one, other)])


def _by_layer(shapes: Sequence[Shape]) -> Iterable[list[MultiPolygon]]:
    layers: dict[str, list[MultiPolygon]] = {}
    for shape in shapes:
        if shape.is_engraved_area:
            layers.setdefault(shape.layer, []).append(shape.geometry)
    return layers.values()


def _shared(areas: Sequence[MultiPolygon]) -> MultiPolygon:
    """Overlap of two or more areas, from one arrangement of all that meet others.

    Near copies are taken together first: all pairs of their edges would be asked for.
    """
    given = np.array(areas, dtype=object)
    if crowds := in_one_box(given):
        others = np.delete(given, np.concatenate(crowds))
        whole, doubled = zip(*(_folded(given[crowd]) for crowd in crowds), strict=True)
        return union([_shared([*others, *whole]), *doubled])
    one, two = intersecting_pairs(given, given, "intersects")
    meet = np.unique(one[one != two])
    if not len(meet):
        return NOTHING
    polygons = shapely.orient_polygons(shapely.get_parts(given[meet]))
    rings = [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(polygons)]
    return fill_arrangement(rings, "twice")
