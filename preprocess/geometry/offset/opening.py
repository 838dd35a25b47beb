"""Opening of an area by a disc, and its residue: where the area is narrow.

The local width at a point is the diameter of the largest disc that lies inside the area and
contains the point. The opening by a disc of diameter w is therefore all that is at least w wide.
(J. Serra, Image Analysis and Mathematical Morphology, 1982, chapter 2.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.polylines import edges_by_part, ring_edges
from preprocess.geometry.offset.erosion import dilate_parts, erode_parts, simplify_fine_parts

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Geometries, Indices


CORNER_RESIDUE = 0.1
"""Residue below this share of width² is the rounding of a corner wider than about 75 degrees."""

ON_OUTLINE = 1e-6
"""Distance from an outline, mm, below which an edge lies on it."""

_FINE = 400.0
"""Discs are drawn to their width divided by this, or to 1 µm where that is more."""

_ROUNDED = 1e-4
"""mm: what is nowhere wider than twice this is left over from rounding or clipping."""

_SURELY_WIDE = 1e-2
"""mm: of a part with more area to its outline than this it need not be asked."""

_SLACK = 1e-3
"""Share of its radius by which the disc is regrown too far, so that no residue hangs by a hair."""


@dataclass(frozen=True, slots=True, eq=False)
class Residue:
    """Pieces of an area that are narrower than a width.

    `pieces` are polygons, `owner` the index of the part that each belongs to; `cores` is, for
    each part, what is at least that wide (empty when the part is narrow everywhere).
    """

    parts: Geometries
    cores: Geometries
    pieces: Geometries
    owner: Indices

    def only(self, kept: Booleans) -> Residue:
        """The same, with only some of the pieces."""
        return replace(self, pieces=self.pieces[kept], owner=self.owner[kept])


def without_slivers(area: MultiPolygon) -> MultiPolygon:
    """Without parts as thin as rounding leaves them; the file cannot hold those as areas."""
    parts = shapely.get_parts(area)
    kept = ~are_slivers(parts)
    return area if kept.all() else shapely.MultiPolygon(list(parts[kept]))


def are_slivers(parts: Geometries) -> Booleans:
    """Test each polygon whether it is nowhere wider than 0.2 µm."""
    thin = shapely.area(parts) <= _SURELY_WIDE * shapely.length(parts)
    thin[thin] = shapely.is_empty(shapely.buffer(parts[thin], -_ROUNDED, quad_segs=1))
    return thin


def open_area(area: MultiPolygon, width: float, *, tolerance: float = 0.001) -> MultiPolygon:
    """Opening by a disc: all of the area that is at least `width` wide (mm), and no more."""
    parts = shapely.get_parts(area)
    cores = _cores(parts, width, 0.0, tolerance)
    return as_area(shapely.multipolygons(shapely.get_parts(shapely.intersection(cores, parts))))


def opening_residue(area: MultiPolygon, width: float, *, fine: float = _FINE) -> Residue:
    """Residue of the opening by a disc of a width in mm; mere corners are left out."""
    parts = shapely.get_parts(area)
    return residue_of_parts(parts, np.full(len(parts), width), max(0.001, width / fine))


def residue_of_parts(parts: Geometries, width: Floats, tolerance: float) -> Residue:
    """Residue of the openings of polygons by a width each (mm), discs drawn to a tolerance."""
    cores = _cores(parts, width, _SLACK, tolerance)
    pieces, owner = shapely.get_parts(shapely.difference(parts, cores), return_index=True)
    kept = (shapely.area(pieces) >= CORNER_RESIDUE * width[owner] ** 2) | shapely.is_empty(cores)[
        owner
    ]
    return Residue(parts=parts, cores=cores, pieces=pieces[kept], owner=owner[kept])


def outline_edges(pieces: Geometries, parts: Geometries) -> tuple[Floats, Indices, Booleans]:
    """Edges of pieces (n × 2 × 2), of which piece each is, and which lie on outlines of parts."""
    edges, piece_of = edges_by_part(pieces)
    free = np.zeros(len(edges), dtype=bool)
    if len(edges):
        tree = shapely.STRtree(shapely.linestrings(ring_edges(parts)))
        middles = shapely.points(edges.mean(axis=1))
        free[tree.query(middles, predicate="dwithin", distance=ON_OUTLINE)[0]] = True
    return edges, piece_of, free


def inscribed_widths(parts: Geometries, tolerance: float) -> Floats:
    """Greatest local width of each part: the diameter of its maximum inscribed circle, mm."""
    return 2 * shapely.length(shapely.maximum_inscribed_circle(parts, tolerance))


def _cores(parts: Geometries, width: float | Floats, slack: float, tolerance: float) -> Geometries:
    """Each part eroded and grown again; erosion is exact for any join but at hollow corners."""
    radius = width / 2
    kept = erode_parts(simplify_fine_parts(parts, tolerance / 2), radius, tolerance)
    grown = radius * (1 + slack) + (1.5 * tolerance if slack else 0.0)
    return dilate_parts(kept, grown, tolerance)
