"""The data block of a playback read back by code of its own, which shares nothing with the writer.

Columns lie as bytes: first the lowest byte of every value, then the next one, and so on.
"""

from __future__ import annotations

import base64
import json
import zlib

import numpy as np


def unpacked(head: str, data: str) -> tuple[dict, bytes]:
    """Head and data of the two texts that a page holds."""
    return json.loads(_inflated(head)), _inflated(data)


def _inflated(text: str) -> bytes:
    return zlib.decompress(base64.b64decode(text), wbits=-15)


def column(side: dict, data: bytes, name: str) -> np.ndarray:
    """The whole numbers of one column."""
    width, count, at, code = side["columns"][name]
    found = []
    for n in range(count):
        low_first = bytes(data[at + n + plane * count] for plane in range(width))
        found.append(int.from_bytes(low_first, "little"))
    if code == 1:
        total = 0
        for n, step in enumerate(found):
            total = found[n] = (total + step) % 256**width
    if code == 2:
        found = [one // 2 if one % 2 == 0 else -(one + 1) // 2 for one in found]
    return np.array(found, dtype=float)


def sets(side: dict, data: bytes) -> list[dict]:
    """Each set with its style, its rows and pieces in mm, and its lines."""

    def read(name):
        return column(side, data, name)

    counts = {
        name: read(name).astype(int)
        for name in ("set_rows", "set_lines", "row_pieces", "line_points")
    }
    styles = read("set_style").astype(int)
    row = piece = line = point = 0
    found = []
    rows, starts, longs, parts = map(read, ("row_v", "piece_start", "piece_long", "piece_part"))
    lefts, tops = map(read, ("set_left", "set_top"))
    forward, xs, ys = map(read, ("row_forward", "point_x", "point_y"))
    for n, style in enumerate(styles):
        what = side["styles"][style]
        frame = side["frames"][what["frame"]]
        mine = slice(row, row + counts["set_rows"][n])
        per_row = counts["row_pieces"][mine]
        some = slice(piece, piece + per_row.sum())
        mm = 0.002
        left, top = frame["u"] + mm * lefts[n], frame["v"] + mm * tops[n]
        lines = []
        for points in counts["line_points"][line : line + counts["set_lines"][n]]:
            here = slice(point, point + points)
            lines.append(np.stack([left + mm * xs[here], top + mm * ys[here]], axis=1))
            point += points
        found.append(
            {
                "style": what,
                "angle": frame["angle"],
                "v": top + mm * rows[mine],
                "forward": forward[mine],
                "row": np.repeat(np.arange(len(per_row)), per_row),
                "start": left + mm * starts[some],
                "end": left + mm * (starts[some] + longs[some]),
                "part": parts[some],
                "lines": lines,
            }
        )
        row, piece, line = mine.stop, some.stop, line + counts["set_lines"][n]
    return found
