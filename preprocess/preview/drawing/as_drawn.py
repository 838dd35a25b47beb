"""The drawing as read, moved to where the output has it, so that the two can be compared."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.affine import compose as then
from preprocess.geometry.base.affine import translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix, Shape
    from preprocess.model.artwork.source import Source

_NEAR = 1e-4
"""mm by which points may miss the fitted map: below the written grid."""

_PLANE = 3


def as_placed(before: Artwork, after: Artwork) -> tuple[Artwork, Matrix | None]:
    """The drawing under the one map that carried its elements to where they are in `after`.

    Elements that stayed are left alone. The map is None where nothing was moved, and where no
    single map explains what was.
    """
    pairs = _pairs(before, after)
    apart = [(one, two) for one, two in pairs if one.geometry != two.geometry]
    matrix = _fitted([(_points(one), _points(two)) for one, two in apart]) if apart else None
    if matrix is None:
        return before, None
    went = {id(one) for one, _ in apart}
    shapes = tuple(
        _placed(shape, matrix) if any(id(s) in went for s in shape.sources) else shape
        for shape in before.shapes
    )
    return replace(before, shapes=shapes), matrix


def _pairs(before: Artwork, after: Artwork) -> list[tuple[Source, Source]]:
    """Each source as read with the same source in the output, in order where ids repeat."""
    there = _sources(after)
    return [
        pair
        for key, here in _sources(before).items()
        if len(here) == len(there.get(key, ()))
        for pair in zip(here, there[key], strict=True)
    ]


def _sources(artwork: Artwork) -> dict[tuple[str, str, int], list[Source]]:
    """Sources by key; one that several shapes come from is held once."""
    found: dict[tuple[str, str, int], list[Source]] = {}
    for source in (source for shape in artwork.shapes for source in shape.sources):
        alike = found.setdefault(_key(source), [])
        if source.geometry and all(one.geometry != source.geometry for one in alike):
            alike.append(source)
    return found


def centred(artwork: Artwork, on: Artwork) -> Artwork:
    """The artwork moved so that the middle of its page is that of another page."""
    (x, y), (x2, y2) = artwork.page.centre, on.page.centre
    if (x, y) == (x2, y2):
        return artwork
    matrix = translation(x2 - x, y2 - y)
    page = replace(artwork.page, left=artwork.page.left + x2 - x, top=artwork.page.top + y2 - y)
    return replace(
        artwork,
        page=page,
        shapes=tuple(_placed(shape, matrix) for shape in artwork.shapes),
        parts=tuple(apply_affine(part, matrix) for part in artwork.parts),
        keep_off=tuple(apply_affine(area, matrix) for area in artwork.keep_off),
    )


def in_words(matrix: Matrix) -> str:
    """What a map does to the size and the direction of a drawing."""
    a, b, c, d, _, _ = matrix
    scale = math.sqrt(abs(a * d - b * c))
    mirrored = a * d - b * c < 0
    turn = math.degrees(math.atan2(b, -a if mirrored else a))
    words = [f"scaled {digits(scale, 4)} times"] if abs(scale - 1) > _NEAR else []
    words += ["mirrored"] if mirrored else []
    words += [f"turned {digits(abs(turn), 4)}°"] if abs(turn) > 1e-3 else []  # noqa: PLR2004 - degrees
    return ", ".join(words or ["moved"])


def _key(source: Source) -> tuple[str, str, int]:
    geometry = source.geometry
    if geometry is None:
        return source.id, "", 0
    return source.id, geometry.geom_type, int(shapely.get_num_coordinates(geometry))


def _points(source: Source) -> Floats:
    return shapely.get_coordinates(source.geometry)


def _fitted(pairs: list[tuple[Floats, Floats]]) -> Matrix | None:
    """The affine map from the first points to the second, by least squares, if it fits them all."""
    here, there = (np.concatenate(points) for points in zip(*pairs, strict=True))
    middle = here.mean(axis=0)
    known = np.column_stack([here - middle, np.ones(len(here))])
    found, _, rank, _ = np.linalg.lstsq(known, there, rcond=None)
    if rank < _PLANE or np.abs(known @ found - there).max() > _NEAR:
        return None
    (a, b), (c, d), shift = found
    e, f = shift - middle @ found[:2]
    return float(a), float(b), float(c), float(d), float(e), float(f)


def _placed(shape: Shape, matrix: Matrix) -> Shape:
    stroke = shape.stroke
    if stroke is not None:
        within, without = (
            None if area is None else apply_affine(area, matrix)
            for area in (stroke.within, stroke.without)
        )
        stroke = replace(stroke, matrix=then(matrix, stroke.matrix), within=within, without=without)
    return replace(shape, geometry=apply_affine(shape.geometry, matrix), stroke=stroke)
