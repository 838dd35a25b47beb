"""Coarser rows: pieces that begin close together become one with their common light."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.playback.block.beam_sets import LineSet, RowSet
from preprocess.playback.block.pieces import Pieces

if TYPE_CHECKING:
    from preprocess.arrays import Floats


def coarser_set(one: RowSet | LineSet, within: float) -> RowSet | LineSet:
    """A set whose pieces of one part that begin in the same `within` mm of a row are one piece.

    It gets the light of all of them, so that no energy is lost; what was dark between is lit.
    """
    if isinstance(one, LineSet) or not within:
        return one
    pieces = one.pieces
    bin_of = np.floor((pieces.start - pieces.start.min()) / within)
    key = np.stack([pieces.row, pieces.part, bin_of])
    new = np.append(True, (key[:, 1:] != key[:, :-1]).any(axis=0))
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(pieces)) - 1
    start, end = pieces.start[first], pieces.end[last]
    lit: Floats = np.add.reduceat(pieces.light * (pieces.end - pieces.start), first)
    forward = one.forward[pieces.row[first]]
    merged = Pieces(
        row=pieces.row[first],
        start=start,
        end=end,
        entered=np.where(forward, pieces.entered[first], pieces.entered[last]),
        part=pieces.part[first],
        light=lit / (end - start),
    )
    return replace(one, pieces=merged)
