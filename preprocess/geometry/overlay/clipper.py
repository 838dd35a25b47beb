"""Clipper on a grid of 1e-6 mm: the fallback when GEOS fails.

Clipper truncates floats and drops contours of fewer than three points without a word, so both
are dealt with here. Its rings may touch themselves, which GEOS does not call valid.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Literal

import numpy as np
import pyclipper
import shapely

from preprocess.geometry.base.normalise import NOTHING, as_area, polygons_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Floats

    Paths = list[list[list[int]]]

WindingRule = Literal["nonzero", "evenodd", "positive", "twice"]
BooleanOperation = Literal["union", "difference", "intersection"]

_UNITS_PER_MM = 1e6
_RULES = {
    "nonzero": pyclipper.PFT_NONZERO,
    "evenodd": pyclipper.PFT_EVENODD,
    "positive": pyclipper.PFT_POSITIVE,
}
_OPERATIONS = {
    "union": pyclipper.CT_UNION,
    "difference": pyclipper.CT_DIFFERENCE,
    "intersection": pyclipper.CT_INTERSECTION,
}


def fill_paths(contours: Sequence[Floats], rule: WindingRule) -> MultiPolygon:
    """Area that contours (n × 2, mm, implicitly closed) fill, to about 1e-6 mm."""
    paths = _paths(contours)
    if rule == "twice" and paths:  # a frame that winds backwards takes one turn from everything
        paths, rule = [*paths, _frame(paths)], "positive"
    return _run("union", paths, [], _RULES[rule])


def _frame(paths: Paths) -> list[list[int]]:
    x, y = np.concatenate(paths).T
    left, top, right, bottom = (int(bound) for bound in (x.min(), y.min(), x.max(), y.max()))
    return [[left, top], [left, bottom], [right, bottom], [right, top]]


def combine_polygons(
    operation: BooleanOperation, first: Iterable[BaseGeometry], second: Iterable[BaseGeometry] = ()
) -> MultiPolygon:
    """Union, difference or intersection of two sets of polygons, to about 1e-6 mm."""
    rule = _RULES["positive"]
    return _run(operation, _paths(_rings(first)), _paths(_rings(second)), rule)


def _run(operation: BooleanOperation, first: Paths, second: Paths, rule: int) -> MultiPolygon:
    clipper = pyclipper.Pyclipper()
    try:
        clipper.AddPaths(first, pyclipper.PT_SUBJECT, True)  # noqa: FBT003 - their signature
    except pyclipper.ClipperException:  # nothing in it has an area
        return NOTHING
    with suppress(pyclipper.ClipperException):
        clipper.AddPaths(second, pyclipper.PT_CLIP, True)  # noqa: FBT003
    return _area(clipper.Execute2(_OPERATIONS[operation], rule, rule))


def _area(tree: pyclipper.PyPolyNode) -> MultiPolygon:
    """Each outline without its holes; what lies in a hole is an outline of its own."""
    found, waiting = [], list(tree.Childs)
    while waiting:
        outline = waiting.pop()
        holes = [_disc(hole) for hole in outline.Childs]
        found.append(shapely.difference(_disc(outline), shapely.union_all(holes)))
        waiting.extend(island for hole in outline.Childs for island in hole.Childs)
    return as_area(found)


def _disc(node: pyclipper.PyPolyNode) -> BaseGeometry:
    """Area inside a ring; the ring may touch itself, but it does not cross itself."""
    return shapely.make_valid(shapely.polygons(np.array(node.Contour) / _UNITS_PER_MM))


def _rings(areas: Iterable[BaseGeometry]) -> list[Floats]:
    """Outlines one way round, holes the other, so that together they wind once around the area."""
    turned = shapely.orient_polygons(polygons_of(areas))
    return [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(turned)]


def _paths(contours: Iterable[Floats]) -> Paths:
    return [
        np.round(contour * _UNITS_PER_MM).astype(np.int64).tolist()
        for contour in contours
        if len(contour) > 2  # noqa: PLR2004
    ]
