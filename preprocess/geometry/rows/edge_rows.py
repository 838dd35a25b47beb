"""Rounds that suit edges: rows that lack a neighbour are marked where they stay least cold.

Each row is warmed by the rounds before, and beside an edge by about half as much. With a power for
each colour the first round suits edges, since it owes least to others; with one power the last.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.rows.rounds import round_of_rows

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers
    from preprocess.geometry.base.sweep import Runs

_NO_NEARER = 0.75
"""Least distance of the last row from a row of its new round, as a share of k rows."""


def rounds_by_edges(runs: Runs, rounds: int, colours: int) -> Integers:
    """The round, from 0, of every row up to the last that is lit.

    Every k-th row belongs to one round. Rows are counted so that most of the edges lie near
    the round that suits them. The last row joins that round unless it has a row near.
    """
    if not len(runs):
        return np.empty(0, np.int64)
    edge = edge_lengths(runs)
    best = 0 if colours > 1 else rounds - 1
    found = [_counted_from(start, len(edge), rounds, best) for start in range(rounds)]
    off = [round(float(edge @ np.abs(each - best)), 6) for each in found]
    return found[off.index(min(off))]


def _counted_from(start: int, count: int, rounds: int, best: int) -> Integers:
    """Rounds of all rows, when the row `start` belongs to the first."""
    found: Integers = np.array(round_of_rows(rounds))[(np.arange(count) - start) % rounds]
    before = np.flatnonzero(found[:-1] == best)
    if len(before) and count - 1 - before[-1] >= _NO_NEARER * rounds:
        found[-1] = best
    return found


def edge_lengths(runs: Runs) -> Floats:
    """Length of each row without light in the row above, and in the row below, added up; mm."""
    count = int(runs.row.max()) + 1
    length = np.bincount(runs.row, runs.end - runs.start, count)
    shared = _shared(runs, count)
    return np.asarray(2 * length - shared[:-1] - shared[1:])


def _shared(runs: Runs, count: int) -> Floats:
    """Length that each row shares with the row above it, and that below the last: none."""
    row = np.concatenate([runs.row, runs.row, runs.row + 1, runs.row + 1])
    place = np.concatenate([runs.start, runs.end, runs.start, runs.end])
    begins = np.repeat([1, -1, 1, -1], len(runs))
    order = np.lexsort((-begins, place, row))
    lit = np.cumsum(begins[order])[:-1]
    long = np.diff(place[order]) * (lit == 2)  # noqa: PLR2004 - lit by both rows
    return np.asarray(np.bincount(row[order][:-1], long, count + 1), dtype=np.float64)
