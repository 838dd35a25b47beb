"""Chains of a medial axis joined into long strokes that go straight on where they cross.

Where hairlines meet, the axis swerves and splits: two that cross share a short piece of it. Such
a knot is told by its discs, what lies within them is left out, and the arms that leave it in
opposite directions are joined straight across.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.medial_axis.chains import Chain, axis_chains

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Booleans, Floats
    from preprocess.geometry.medial_axis.voronoi import MedialAxis

    Arm = tuple[int, int]

_LOOK = 4.0
"""The direction of an arm is that between one and so many half widths out of its knot."""

_TURN = np.radians(60)
"""Arms that meet at a sharper turn than this are not joined."""

_TIED = 1.5
"""Chains up to this share of the half widths at both ends lie within a knot."""

_KNOT = 6.0
"""No knot is larger than so many half widths."""

_CLEAR = 1.2
"""Arms are joined across a knot from this many half widths outside."""

_SEVERAL = 3


@dataclass(frozen=True, slots=True, eq=False)
class CentreLine:
    """A stroke: its points (n × 2, mm), the local width at each (n), and which ends are tips.

    A tip is an end where the area ends; other ends meet another stroke or the engraved rest.
    """

    points: Floats
    width: Floats
    tips: tuple[bool, bool] = (False, False)


def join_strokes(axis: MedialAxis, tips: Booleans) -> list[CentreLine]:
    """Join the chains of an axis into strokes.

    Args:
        axis: what to join.
        tips: for each node, whether the area ends there.
    """
    all_chains = axis_chains(axis)
    knot, middle = _knots(axis, all_chains)
    arms: dict[int, list[Arm]] = defaultdict(list)
    kept = [
        number
        for number, chain in enumerate(all_chains)
        if not (_tied(chain) and knot.get(chain.end(0), -1) == knot.get(chain.end(1), -2))
    ]
    for number in kept:
        for last in (0, 1):
            node = all_chains[number].end(last)
            if node in knot:
                arms[knot[node]].append((number, last))
    partner = {
        arm: other
        for group in arms.values()
        for pair in _pairs(all_chains, group)
        for arm, other in (pair, pair[::-1])
    }
    return [_stroke(all_chains, way, partner, knot, middle, tips) for way in _ways(kept, partner)]


def _tied(chain: Chain) -> bool:
    return chain.end(0) != chain.end(1) and chain.length <= _TIED * (
        chain.reach[0] + chain.reach[-1]
    )


def _knots(
    axis: MedialAxis, all_chains: Sequence[Chain]
) -> tuple[dict[int, int], dict[int, Floats]]:
    """For each node where several chains meet its knot; the middles of knots of several nodes."""
    degree = axis.degree
    members = {int(node): [int(node)] for node in np.flatnonzero(degree >= _SEVERAL)}
    knot = {node: node for node in members}
    for chain in sorted(filter(_tied, all_chains), key=lambda c: (c.length, c.end(0))):
        one, two = (knot.get(chain.end(last)) for last in (0, 1))
        if one is None or two is None or one == two:
            continue
        both = sorted(members[one] + members[two])
        if np.ptp(axis.at[both], axis=0).max() <= _KNOT * axis.reach[both].max():
            members[one] = both
            knot.update(dict.fromkeys(members.pop(two), one))
    middle = {
        name: axis.at[nodes].mean(axis=0) for name, nodes in members.items() if len(nodes) > 1
    }
    return knot, middle


def _pairs(all_chains: Sequence[Chain], group: Sequence[Arm]) -> Iterator[tuple[Arm, Arm]]:
    """Arms of one knot that go straight on in one another, the straightest first."""
    ways = {arm: _direction(all_chains[arm[0]], arm[1]) for arm in group}
    free = set(group)
    for turn, one, two in sorted(
        (_turn(ways[a], ways[b]), a, b) for a, b in combinations(group, 2)
    ):
        if turn <= _TURN and {one, two} <= free:
            free -= {one, two}
            yield one, two


def _direction(chain: Chain, last: int) -> Floats:
    reach = float(chain.reach[-last])
    far = min(_LOOK * reach, chain.length)
    return chain.at(far, last) - chain.at(min(reach, far / 2), last)


def _turn(one: Floats, two: Floats) -> float:
    """By how much a way turns that comes against one direction and leaves along the other."""
    cross = one[0] * two[1] - one[1] * two[0]
    return float(np.pi - abs(np.arctan2(cross, float(one @ two))))


def _ways(kept: Sequence[int], partner: dict[Arm, Arm]) -> Iterator[list[Arm]]:
    """Chains in order, each with the end it is entered by; open strokes first, then rings."""
    used: set[int] = set()
    starts = [(number, last) for number in kept for last in (0, 1) if (number, last) not in partner]
    for arm in [*starts, *((number, 0) for number in kept)]:
        way, at = [], arm
        while at[0] not in used:
            used.add(at[0])
            way.append(at)
            onward = partner.get((at[0], 1 - at[1]))
            if onward is None:
                break
            at = onward
        if way:
            yield way


def _stroke(
    all_chains: Sequence[Chain],
    way: Sequence[Arm],
    partner: dict[Arm, Arm],
    knot: dict[int, int],
    middle: dict[int, Floats],
    tips: Booleans,
) -> CentreLine:
    points, reach = [], []
    for number, entered in way:
        some, wide = _clear(all_chains[number], entered, partner, number)
        points.append(some)
        reach.append(wide)
    (first, entered), (final, by) = way[0], way[-1]
    ends = [(first, entered, 0), (final, 1 - by, -1)]
    for number, last, where in ends:
        node = all_chains[number].end(last)
        heart = middle.get(knot.get(node, -1))
        if heart is not None and (number, last) not in partner:
            points.insert(0 if where == 0 else len(points), heart[None])
            reach.insert(0 if where == 0 else len(reach), all_chains[number].reach[[-last]])
    if (first, entered) in partner and partner[first, entered] == (final, 1 - by):
        points.append(points[0][:1])
        reach.append(reach[0][:1])
    tip = [bool(tips[all_chains[number].end(last)]) for number, last, _ in ends]
    return CentreLine(np.concatenate(points), 2 * np.concatenate(reach), (tip[0], tip[1]))


def _clear(
    chain: Chain, entered: int, partner: dict[Arm, Arm], number: int
) -> tuple[Floats, Floats]:
    """The chain in the sense it is passed, without what lies in knots that are crossed."""
    cut = [
        min(_CLEAR * float(chain.reach[-last]), 0.45 * chain.length)
        if (number, last) in partner
        else 0.0
        for last in (0, 1)
    ]
    points, reach = chain.between(cut[0], chain.length - cut[1])
    return (points[::-1], reach[::-1]) if entered else (points, reach)
