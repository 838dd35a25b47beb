"""Knock-out: paint in the colour of the page removes the artwork under it and is not marked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.overlay.booleans import cut_away, difference, union
from preprocess.read.artwork.painted_geometry import SPECK, PaintedGeometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.messages.remarks import Remarks

_CORNER = 2**0.5


def knock_out(
    pieces: Sequence[PaintedGeometry], options: ReadingOptions, remarks: Remarks
) -> list[PaintedGeometry]:
    """Subtract paint in the colour of the page; returns the rest in painter's order."""
    page_colour, tolerance = options.drawing.page_colour, options.drawing.tolerance
    opaque = options.shades.opaque
    covers = [i for i, p in enumerate(pieces) if p.ink.colour == page_colour.lower()]
    if not covers:
        return list(pieces)
    bodies = {i: pieces[i].body(tolerance) for i in covers if pieces[i].ink.alpha >= opaque}
    over, used = _covering(pieces, bodies)
    found = []
    for i, piece in enumerate(pieces):
        if i in covers:
            if i not in used and not piece.blank:
                remarks.on("page-colour", piece.painted)
            continue
        left = _without(piece, [bodies[j] for j in over[i]], tolerance) if i in over else piece
        if left.geometry.is_empty:
            remarks.on("covered", piece.painted)
        else:
            found.append(left)
    return found


def _covering(
    pieces: Sequence[PaintedGeometry], bodies: dict[int, MultiPolygon]
) -> tuple[dict[int, list[int]], set[int]]:
    """Covers by the earlier piece that they overlap, and all covers that overlap anything."""
    numbers = [i for i in range(len(pieces)) if pieces[i].ink.alpha > 0 and i not in bodies]
    tree = shapely.STRtree([pieces[i].geometry for i in numbers])
    reach = max((pieces[i].reach for i in numbers), default=0.0)
    over: dict[int, list[int]] = {}
    for cover, body in bodies.items():
        near = (
            tree.query(body, predicate="dwithin", distance=reach)
            if reach
            else tree.query(body, predicate="intersects")
        )
        for at in sorted(int(n) for n in near):
            below = numbers[at]
            if below < cover and _touches(pieces[below], body):
                over.setdefault(below, []).append(cover)
    return over, {cover for covers in over.values() for cover in covers}


def _touches(piece: PaintedGeometry, body: MultiPolygon) -> bool:
    return bool(shapely.dwithin(piece.geometry, body, piece.reach))


def _without(
    piece: PaintedGeometry, bodies: list[MultiPolygon], tolerance: float
) -> PaintedGeometry:
    cover = union(bodies)
    if piece.stroke is None:
        return replace(piece, geometry=difference(piece.geometry, cover))
    stroke = replace(piece.stroke, without=cover)
    if piece.exact:
        return replace(piece, geometry=cut_away(piece.geometry, cover), stroke=stroke)
    deep = shrink_area(cover, piece.reach * _CORNER)
    left = replace(piece, geometry=cut_away(piece.geometry, deep), stroke=stroke)
    if not left.geometry.is_empty and left.body(tolerance).area <= SPECK:
        return replace(left, geometry=cut_away(left.geometry, cover.envelope.buffer(piece.reach)))
    return left
