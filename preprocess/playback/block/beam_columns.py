"""Columns of what the beam goes over: visits, sets, rows, pieces and lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.playback.block.beam_sets import LineSet, RowSet
from preprocess.playback.block.columns import PLAIN, SIGNED, STEPS, Column

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.playback.block.beam_sets import BeamVisit
    from preprocess.playback.block.set_styles import Frames

LENGTH, TIME, LIGHT = 2e-3, 1e-5, 1e-4
"""Units of lengths (mm), of times (s) and of shares of light."""

_OFF = 1.5
"""Units of time by which a piece may be entered off what its row says."""

_CODES = {
    "set_left": PLAIN,
    "set_top": PLAIN,
    "set_rows": PLAIN,
    "set_late": PLAIN,
    "row_v": STEPS,
    "row_forward": PLAIN,
    "row_pieces": PLAIN,
    "row_time": SIGNED,
    "piece_start": PLAIN,
    "piece_long": PLAIN,
    "piece_part": PLAIN,
    "piece_late": PLAIN,
    "piece_light": PLAIN,
    "set_lines": PLAIN,
    "line_points": PLAIN,
    "line_time": PLAIN,
    "point_x": STEPS,
    "point_y": STEPS,
}
"""Columns of rows and lines, and how they are written."""


def visit_columns(
    visits: Sequence[BeamVisit], sets: Sequence[RowSet | LineSet], style_of: Sequence[int]
) -> dict[str, Column]:
    """Columns with one entry to a visit, and the styles of the sets."""
    begins = in_units((one.begins for one in visits), TIME)
    lasts = in_units((sets[one.set].lasts for one in visits), TIME)
    return {
        "visit_set": Column(_whole(one.set for one in visits)),
        "visit_repeat": Column(_whole(one.repeat for one in visits)),
        "visit_begins": Column(begins, STEPS),
        "visit_lasts": Column(lasts),
        "set_style": Column(_whole(style_of)),
    }


def set_columns(
    sets: Sequence[RowSet | LineSet],
    styles: Sequence[Mapping[str, Any]],
    style_of: Sequence[int],
    frames: Frames,
) -> dict[str, Column]:
    """Columns of the rows, pieces and lines of all sets; each set counts its rows and lines.

    Places in a set count from its own corner, so that equal shapes are equal bytes.
    """
    found: dict[str, list[Integers]] = {name: [np.empty(0, np.int64)] for name in _CODES}
    for one, style in zip(sets, style_of, strict=True):
        if isinstance(one, RowSet):
            some = _of_rows(one, styles[style], frames.corner[one.angle])
        else:
            some = _of_lines(one, frames.corner[0.0])
        for name, values in some.items():
            found[name].append(values)
    columns = {name: np.concatenate(some) for name, some in found.items()}
    if (columns["piece_light"] == round(1 / LIGHT)).all():
        columns["piece_light"] = np.empty(0, np.int64)
    return {name: Column(values, _CODES[name]) for name, values in columns.items()}


def _of_rows(
    one: RowSet, style: Mapping[str, Any], corner: tuple[float, float]
) -> dict[str, Integers]:
    pieces = one.pieces
    left, top = float(pieces.start.min()), float(one.v[0])
    start = in_units(pieces.start - left, LENGTH)
    long = np.maximum(in_units(pieces.end - left, LENGTH) - start, 0)
    first = np.flatnonzero(np.diff(pieces.row, prepend=-1))
    last = np.append(first[1:], len(pieces)) - 1
    span = start[last] + long[last] - start[first]
    lit = np.add.reduceat(long, first)
    at = in_units(one.at, TIME)
    found = {
        "set_left": in_units([left - corner[0]], LENGTH),
        "set_top": in_units([top - corner[1]], LENGTH),
        "set_rows": _whole([len(one.v)]),
        "set_lines": _whole([0]),
        "row_v": in_units(one.v - top, LENGTH),
        "row_forward": one.forward.astype(np.int64),
        "row_pieces": last - first + 1,
        "row_time": np.diff(at, prepend=0) - np.append(0, _row_times(lit, span, style)[:-1]),
        "piece_start": start,
        "piece_long": long,
        "piece_part": pieces.part,
        "piece_light": in_units(pieces.light, LIGHT),
    }
    late = (pieces.entered - one.at[pieces.row]) / TIME
    off = np.abs(late - _implied(start, long, one, style)).max()
    if off > _OFF:
        found["piece_late"] = np.rint(late).astype(np.int64)
    return {**found, "set_late": _whole([off > _OFF])}


def _row_times(lit: Integers, span: Integers, style: Mapping[str, Any]) -> Integers:
    """From the start of each row to that of the next, as its style says, in units of time."""
    seconds = lit * LENGTH / style["speed"] + (span - lit) * LENGTH / style["gapSpeed"]
    seconds = seconds + style["turn"] + style["back"] * (span * LENGTH)
    return np.floor(seconds / TIME + 0.5).astype(np.int64)


def _implied(start: Integers, long: Integers, one: RowSet, style: Mapping[str, Any]) -> Floats:
    """From the start of its row until each piece is entered, by its style, in units of time."""
    row = one.pieces.row
    first = np.flatnonzero(np.diff(row, prepend=-1))
    last = np.append(first[1:], len(row)) - 1
    before = np.cumsum(long) - long
    lit = before - before[first][row]
    total = before[last] + long[last] - before[first]
    forward = one.forward[row]
    way = np.where(forward, start - start[first][row], (start + long)[last][row] - start - long)
    lit = np.where(forward, lit, total[row] - lit - long)
    seconds = lit * LENGTH / style["speed"] + (way - lit) * LENGTH / style["gapSpeed"]
    return np.asarray(seconds / TIME)


def _of_lines(one: LineSet, corner: tuple[float, float]) -> dict[str, Integers]:
    points = np.concatenate(one.lines)
    left, top = points.min(axis=0).tolist()
    return {
        "set_left": in_units([left - corner[0]], LENGTH),
        "set_top": in_units([top - corner[1]], LENGTH),
        "set_rows": _whole([0]),
        "set_late": _whole([0]),
        "set_lines": _whole([len(one.lines)]),
        "line_points": _whole(map(len, one.lines)),
        "line_time": in_units(one.entered, TIME),
        "point_x": in_units(points[:, 0] - left, LENGTH),
        "point_y": in_units(points[:, 1] - top, LENGTH),
    }


def in_units(values: Iterable[float] | Floats, unit: float) -> Integers:
    """Values as whole numbers of a unit."""
    some = values if isinstance(values, np.ndarray) else np.array(list(values), np.float64)
    return np.rint(some / unit).astype(np.int64)


def _whole(values: Iterable[int]) -> Integers:
    return np.array(list(values), np.int64)
