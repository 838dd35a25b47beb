"""The drawing as read, moved to where the output has it, so that the two can be compared."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from preprocess.geometry.base.affine import compose, translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix, Shape

_NEAR = 1e-4
"""Share of a size that is not worth telling."""

_STAYED: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


class Placing(NamedTuple):
    """Placement of a drawing: the map of its first copy, and the number of copies."""

    matrix: Matrix
    copies: int = 1


def as_placed(before: Artwork, after: Artwork) -> tuple[Artwork, Placing | None]:
    """The drawing with each element where it lies in `after`, as often as it lies there.

    Elements that are not in `after` go where most others went. The placing is as of `placing_of`.
    """
    placing = placing_of(after)
    if placing is None:
        return before, None
    maps = _maps(after)
    most = Counter(maps.values()).most_common(1)[0][0]
    shapes = tuple(
        shape if matrix == _STAYED else _placed(shape, matrix)
        for number in range(max(map(len, maps.values())))
        for shape in before.shapes
        for matrix in _maps_of(shape, maps, most)[number : number + 1]
    )
    return replace(before, shapes=shapes), placing


def placing_of(after: Artwork) -> Placing | None:
    """The placing of most elements that were moved; None where none was."""
    moved = Counter(one for one in _maps(after).values() if one != (_STAYED,))
    if not moved:
        return None
    usual = moved.most_common(1)[0][0]
    return Placing(usual[0], len(usual))


def _maps(after: Artwork) -> dict[str, tuple[Matrix, ...]]:
    """Maps of the elements of the drawing into the output, by their ids."""
    found: dict[str, dict[Matrix, None]] = {}
    for source in (source for shape in after.shapes for source in shape.sources):
        found.setdefault(source.drawn_id, {})[source.matrix] = None
    return {name: tuple(maps) for name, maps in found.items()}


def _maps_of(
    shape: Shape, maps: dict[str, tuple[Matrix, ...]], most: tuple[Matrix, ...]
) -> tuple[Matrix, ...]:
    known = (matrix for source in shape.sources for matrix in maps.get(source.id, ()))
    return tuple(dict.fromkeys(known)) or most


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
        poses=tuple(None if pose is None else compose(matrix, pose) for pose in artwork.poses),
    )


def in_words(placing: Placing) -> str:
    """Sentence on the size, direction and number of a placed drawing."""
    a, b, c, d, _, _ = placing.matrix
    scale = math.sqrt(abs(a * d - b * c))
    mirrored = a * d - b * c < 0
    turn = math.degrees(math.atan2(b, -a if mirrored else a))
    words = [f"scaled {digits(scale, 4)} times"] if abs(scale - 1) > _NEAR else []
    words += ["mirrored"] if mirrored else []
    words += [f"turned {digits(abs(turn), 4)}°"] if abs(turn) > 1e-3 else []  # noqa: PLR2004 - degrees
    words += [f"copied {placing.copies} times"] if placing.copies > 1 else []
    return ", ".join(words or ["moved"])


def _placed(shape: Shape, matrix: Matrix) -> Shape:
    stroke = shape.stroke
    if stroke is not None:
        within, without = (
            None if area is None else apply_affine(area, matrix)
            for area in (stroke.within, stroke.without)
        )
        stroke = replace(
            stroke, matrix=compose(matrix, stroke.matrix), within=within, without=without
        )
    return replace(shape, geometry=apply_affine(shape.geometry, matrix), stroke=stroke)
