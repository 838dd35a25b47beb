"""In which order ways deserve a simulation in full, by their coarse figures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.advice.figures import front

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.advice.measure import Measured
    from preprocess.advice.ways import Way


def shortlist(pool: Sequence[Measured], done: Measured | None) -> Iterator[Measured]:
    """The best by each aim first, then the rest that no other beats, then all others.

    Ways that differ only in the number of their levels come once, until the others are through.
    """
    order = [pool[n] for n in front([one.figures for one in pool])]
    aims = [min(order, key=lambda one: one.figures.key[aim]) for aim in range(4)] if order else []
    rest = sorted(pool, key=lambda one: one.figures.key)
    seen = {_kind(done.way)} if done else set()
    later = []
    for one in dict.fromkeys([*order[:1], *aims, *order, *rest]):
        if _kind(one.way) in seen:
            later.append(one)
        else:
            seen.add(_kind(one.way))
            yield one
    same = {done.way} if done else set()
    yield from (one for one in later if one.way not in same)


def _kind(way: Way) -> Way:
    return replace(way, power=None, levels=min(way.levels, 2))
