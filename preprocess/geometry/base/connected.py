"""Connected components of a graph whose edges come as pairs of numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Indices, Integers

_FEW = 20_000
"""Nodes and edges that are labelled here before the import of a library would be over."""


def component_labels(count: int, one: Indices, two: Indices) -> Integers:
    """Label each of `count` nodes by its component; one[i] and two[i] are neighbours.

    Components are numbered in the order of their first nodes.
    """
    if count + len(one) <= _FEW:
        return _few_labels(count, one, two)
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(one), dtype=bool), (one, two)), shape=(count, count))
    return connected_components(links, directed=False)[1]


def _few_labels(count: int, one: Indices, two: Indices) -> Integers:
    """Union of sets under their least node, paths halved."""
    least = list(range(count))

    def root(node: int) -> int:
        while least[node] != node:
            least[node] = least[least[node]]
            node = least[node]
        return node

    for first, second in zip(np.asarray(one).tolist(), np.asarray(two).tolist(), strict=True):
        low, high = sorted((root(first), root(second)))
        least[high] = low
    number: dict[int, int] = {}
    return np.array([number.setdefault(root(n), len(number)) for n in range(count)], np.int32)


def component_members(count: int, one: Indices, two: Indices) -> list[list[int]]:
    """List the nodes of each component, ascending; components in order of their first node."""
    groups: dict[int, list[int]] = {}
    for index, name in enumerate(component_labels(count, one, two).tolist()):
        groups.setdefault(name, []).append(index)
    return list(groups.values())
