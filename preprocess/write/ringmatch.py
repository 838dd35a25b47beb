"""Whether two sets of rings, or two runs of lines, are the same but for rounding."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.fill import resolve
from preprocess.write.figures import shoelaces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely import MultiLineString, MultiPolygon

    from preprocess.write.figures import Points


def painted(rings: Sequence[Points]) -> MultiPolygon:
    """The area that rings paint together under the even-odd rule."""
    return resolve(rings, "evenodd")


def same_rings(area: MultiPolygon, rings: Sequence[Points], grid: float) -> bool:
    """Whether rings outline an area, each vertex rounded to the grid, holes the other way round.

    Rings that agree vertex by vertex are set aside. Where rounding joined, split or mended rings,
    what the rest paints decides: it may differ by nothing wider than twice the grid.
    """
    meant = _meant_rings(area)
    meant_keys, read_keys = [_key(r, grid) for r in meant], [_key(r, grid) for r in rings]
    if Counter(meant_keys) == Counter(read_keys):
        return True
    lacking, extra = set(meant_keys) - set(read_keys), set(read_keys) - set(meant_keys)
    one = painted([r for r, key in zip(meant, meant_keys, strict=True) if key in lacking])
    other = painted([r for r, key in zip(rings, read_keys, strict=True) if key in extra])
    difference = shapely.symmetric_difference(one, other)
    return bool(shapely.is_empty(shapely.buffer(difference, -grid, quad_segs=2)))


def same_lines(lines: MultiLineString, read: Sequence[tuple[Points, bool]], grid: float) -> bool:
    """Whether lines come back vertex by vertex and in order; those below the grid may lack."""
    meant = [_steps(shapely.get_coordinates(line), grid) for line in lines.geoms]
    found = [_steps(np.vstack([p, p[:1]]) if closed else p, grid) for p, closed in read]
    wanted = [steps for steps in meant if len(steps) > 1]
    return len(wanted) == len(found) and all(map(np.array_equal, wanted, found))


def _meant_rings(area: MultiPolygon) -> list[Points]:
    """Rings without the repeated point, outer ones counter-clockwise as seen, holes clockwise."""
    rings, owner = shapely.get_rings(shapely.get_parts(area), return_index=True)
    hole = np.diff(owner, prepend=-1) == 0
    found = [shapely.get_coordinates(ring)[:-1] for ring in rings]
    if not found:
        return []
    wrong_way = (shoelaces(found)[0] < 0) != hole
    return [ring[::-1] if turn else ring for ring, turn in zip(found, wrong_way, strict=True)]


def _key(ring: Points, grid: float) -> bytes:
    """The ring in steps of the grid, from its smallest vertex on."""
    steps = _steps(np.vstack([ring, ring[:1]]), grid)[:-1]
    if not len(steps):
        return b""
    first = int(np.lexsort(steps.T[::-1])[0])
    return np.roll(steps, -first, axis=0).tobytes()


def _steps(points: Points, grid: float) -> NDArray[np.int64]:
    """Whole steps of the grid, without repeated points."""
    steps = np.rint(points * round(1 / grid)).astype(np.int64)
    moved = np.any(np.diff(steps, axis=0) != 0, axis=1)
    return steps[np.concatenate([[True], moved])]
