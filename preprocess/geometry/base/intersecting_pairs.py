"""Pairs of intersecting geometries among many, within bounded memory."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Booleans, Geometries, Indices

    Predicate = Literal["intersects", "contains", "covered_by", "overlaps", "dwithin"]

_MOST = 50_000_000
"""Pairs that are still kept; so many copies of one place are no drawing."""

BATCH = 5_000_000
"""Pairs that one question to the tree may give; it cannot stop half way when memory runs out."""


def intersecting_pairs(
    given: Geometries,
    among: Geometries,
    predicate: Predicate | None = None,
    distance: float | None = None,
) -> tuple[Indices, Indices]:
    """Pairs (number in `given`, number in `among`), in the order of `given`.

    Args:
        given: n geometries.
        among: m geometries; may be the same ones.
        predicate: what shall hold between the two; None where boxes that meet are enough.
        distance: for "dwithin", mm.

    Raises:
        MemoryError: more than 50 million pairs.
    """
    found: list[Indices] = []
    count = 0
    for one, other in intersecting_batches(given, among, predicate, distance):
        found.append(np.stack((one, other)))
        count += len(one)
        if count > _MOST:
            raise MemoryError(f"more than {_MOST} pairs")
    if not found:
        return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
    one, other = np.concatenate(found, axis=1)
    return one, other


def interiors_intersect(one: Geometries, other: Geometries) -> Booleans:
    """Mask of the pairs of areas whose interiors intersect; a shared border is not enough.

    The pattern is one of the dimensionally extended nine-intersection model (OGC 06-103r4).
    """
    return shapely.relate_pattern(one, other, "T********")


def intersecting_batches(
    given: Geometries,
    among: Geometries,
    predicate: Predicate | None = None,
    distance: float | None = None,
) -> Iterator[tuple[Indices, Indices]]:
    """Yield the same pairs in batches; all pairs of one member of `given` come together."""
    tree = shapely.STRtree(among)
    step = max(1, BATCH // max(1, len(among)))
    for begin in range(0, len(given), step):
        some = given[begin : begin + step]
        one, other = tree.query(some, predicate=predicate, distance=distance)
        yield one + begin, other
