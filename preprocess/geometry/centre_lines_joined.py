"""Edges of a medial axis joined into long strokes that go straight on where they cross."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from preprocess.geometry.centre_lines_axis import Axis

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

LOOK = 3.0
"""The direction of a stroke at its end is that of its last stretch of so many half widths."""

TURN = np.radians(60)
"""Strokes that meet at a sharper turn than this are two."""

_PASSED = 2


@dataclass(frozen=True, slots=True, eq=False)
class CentreLine:
    """A stroke: its points (n × 2, mm), the local width at each (n), and which ends are tips.

    A tip is an end where the area ends; other ends meet another stroke or the engraved rest.
    """

    points: Floats
    width: Floats
    tips: tuple[bool, bool] = (False, False)

    @property
    def closed(self) -> bool:
        """Whether the stroke ends where it began."""
        return bool((self.points[0] == self.points[-1]).all())


def strokes(axis: Axis, tips: NDArray[np.bool_]) -> list[CentreLine]:
    """All edges of an axis as strokes, each edge once.

    Args:
        axis: what to join.
        tips: for each node, whether the area ends there.
    """
    follow = _follow(axis)
    found = []
    for way in _ways(follow):
        nodes = [_tail(axis, way[0]), *(_head(axis, half) for half in way)]
        ends = (bool(tips[nodes[0]]), bool(tips[nodes[-1]]))
        found.append(CentreLine(axis.at[nodes], 2 * axis.reach[nodes], ends))
    return found


def _follow(axis: Axis) -> Integers:
    """For each half edge (2 e forth, 2 e + 1 back) the half edge that goes on from its head."""
    follow = np.full(2 * len(axis.ends), -1)
    leaving: dict[int, list[int]] = defaultdict(list)
    for half, node in enumerate(axis.ends.ravel().tolist()):
        leaving[node].append(half)
    crossings = []
    for node, halves in leaving.items():
        if len(halves) == _PASSED:
            _join(follow, *halves)
        elif len(halves) > _PASSED:
            crossings.append((node, halves))
    before = follow.copy()
    for node, halves in crossings:
        ways = {half: _direction(axis, before, half, node) for half in halves}
        turns = sorted((_turn(ways[a], ways[b]), a, b) for a, b in combinations(halves, 2))
        free = set(halves)
        for turn, a, b in turns:
            if turn <= TURN and {a, b} <= free:
                _join(follow, a, b)
                free -= {a, b}
    return follow


def _join(follow: Integers, one: int, two: int) -> None:
    """Two half edges that leave one node: who comes along either goes on along the other."""
    follow[one ^ 1], follow[two ^ 1] = two, one


def _direction(axis: Axis, follow: Integers, half: int, node: int) -> Floats:
    """Whither a half edge leads from a node, once clear of the knot."""
    start, far = axis.at[node], LOOK * axis.reach[node]
    steps = 0
    while True:
        point = axis.at[_head(axis, half)]
        onward = int(follow[half])
        steps += 1
        if np.hypot(*(point - start)) >= far or onward < 0 or steps > len(axis.ends):
            return point - start
        half = onward


def _turn(one: Floats, two: Floats) -> float:
    """By how much a way turns that comes along one direction and leaves along the other."""
    cross = one[0] * two[1] - one[1] * two[0]
    return float(np.pi - abs(np.arctan2(cross, float(one @ two))))


def _ways(follow: Integers) -> Iterator[list[int]]:
    """Runs of half edges, each edge once: open ones first, then rings."""
    used = np.zeros(len(follow) // 2, dtype=bool)
    starts = [half for half in range(len(follow)) if follow[half ^ 1] < 0]
    for half in [*starts, *range(0, len(follow), 2)]:
        if used[half // 2]:
            continue
        way, at = [], half
        while at >= 0 and not used[at // 2]:
            used[at // 2] = True
            way.append(at)
            at = int(follow[at])
        yield way


def _tail(axis: Axis, half: int) -> int:
    return int(axis.ends[half // 2, half % 2])


def _head(axis: Axis, half: int) -> int:
    return int(axis.ends[half // 2, 1 - half % 2])
