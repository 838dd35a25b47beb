"""Parts of a tray taken in turn, so that each rests while the others are marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Shape


def bodies_of(shapes: Sequence[Shape], parts: Sequence[MultiPolygon]) -> list[int]:
    """Number of the part that each shape lies on; that of no part is the number of parts."""
    points = [shape.geometry.representative_point() for shape in shapes]
    found = [len(parts)] * len(points)
    if parts:
        tree = shapely.STRtree(list(parts))
        for point, part in zip(*tree.query(points, predicate="intersects").tolist(), strict=True):
            found[point] = min(part, found[point])
    return found


def in_turn(queues: Sequence[Sequence[int]]) -> list[int]:
    """Members of all queues, spread evenly: the longest sets the beat, each keeps its order."""
    beats = [
        ((k + 0.5) / len(queue), n, one)
        for n, queue in enumerate(queues)
        for k, one in enumerate(queue)
    ]
    return [one for _, _, one in sorted(beats)]


def least_rest(bodies: Sequence[int], order: Sequence[int]) -> int:
    """Least number of shapes of other parts that are marked between two shapes of one part."""
    visits = np.asarray([bodies[i] for i in order])
    gaps = [np.diff(np.flatnonzero(visits == body)) - 1 for body in set(bodies)]
    return min((int(gap.min()) for gap in gaps if len(gap)), default=len(order))
