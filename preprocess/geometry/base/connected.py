"""Connected components of a graph whose edges come as pairs of numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from preprocess.arrays import Indices, Integers


def component_labels(count: int, one: Indices, two: Indices) -> Integers:
    """Label each of `count` nodes by its component; one[i] and two[i] are neighbours."""
    links = coo_array((np.ones(len(one), dtype=bool), (one, two)), shape=(count, count))
    return connected_components(links, directed=False)[1]


def component_members(count: int, one: Indices, two: Indices) -> list[list[int]]:
    """List the nodes of each component, ascending; components in order of their first node."""
    groups: dict[int, list[int]] = {}
    for index, name in enumerate(component_labels(count, one, two).tolist()):
        groups.setdefault(name, []).append(index)
    return list(groups.values())
