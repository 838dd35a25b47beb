"""Order in which ways are simulated in full, by their coarse figures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.advice.pareto import pareto_front

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.advice.rating import RatedWay
    from preprocess.advice.ways import Way

_NEAR = 0.03
"""Ways that leave so much more of the area outside than the best come last."""


def shortlist(pool: Sequence[RatedWay], done: RatedWay | None) -> Iterator[RatedWay]:
    """The best, the most even, the best of each kind of remedy and by each aim, then all others.

    Ways that differ only in the number of their levels come once, until the others are through.
    """
    seen = {_kind(done.way)} if done else set()
    later = []
    for one in dict.fromkeys(_ordered(pool)):
        if _kind(one.way) in seen:
            later.append(one)
        else:
            seen.add(_kind(one.way))
            yield one
    same = {done.way} if done else set()
    yield from (one for one in later if one.way not in same)


def _ordered(pool: Sequence[RatedWay]) -> Iterator[RatedWay]:
    rest = sorted(pool, key=lambda one: one.figures.key)
    near = [one for one in rest if one.figures.key[0] <= rest[0].figures.key[0] + _NEAR]
    yield from near[:1]
    yield from sorted(near, key=lambda one: one.figures.key[1])[:1]
    for mine in (
        [one for one in near if one.way.bars],
        [one for one in near if one.way.levels > 1],
        [one for one in near if one.way.pitch is not None],
        [one for one in near if one.way.every],
        [one for one in near if not (one.way.bars or one.way.every) and one.way.levels <= 1],
    ):
        yield from mine[:1]
    for aim in range(4) if near else ():
        yield min(near, key=lambda one: one.figures.key[aim])
    yield from (near[n] for n in pareto_front([one.figures for one in near]))
    yield from rest


def _kind(way: Way) -> Way:
    return replace(way, power=None, levels=min(way.levels, 2))
