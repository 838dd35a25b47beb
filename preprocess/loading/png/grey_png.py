"""Greys of a PNG: the decoder, for images of 8-bit greys that are not interlaced.

Source: PNG (third edition), sections 5, 7 and 9. It shares nothing with the writer of images.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass

_BEGIN = b"\x89PNG\r\n\x1a\n"
_HEAD = struct.Struct(">IIBBBBB")
_LEFT, _UP, _MEAN, _PAETH = 1, 2, 3, 4
_MOST = 100_000_000
"""Pixels; a file that claims more is not believed."""


class NotGrey(ValueError):  # noqa: N818 - says what it is
    """The bytes are no PNG of 8-bit greys."""


@dataclass(frozen=True, slots=True)
class DecodedGreys:
    """Columns, rows, a byte to each pixel, row by row."""

    columns: int
    rows: int
    greys: bytes


def decode_greys(data: bytes) -> DecodedGreys:
    """Decode a PNG.

    Raises:
        NotGrey: colours, another depth, interlaced, or damaged.
    """
    try:
        chunks = _chunks(data)
        columns, rows, depth, kind, _, _, interlaced = _HEAD.unpack(chunks[b"IHDR"])
    except (KeyError, struct.error) as error:
        raise NotGrey("no PNG") from error
    if (depth, kind, interlaced) != (8, 0, 0):
        raise NotGrey("no picture of 8-bit greys that is not interlaced")
    if b"tRNS" in chunks:
        raise NotGrey("a grey of it is transparent")
    if not 0 < columns * rows <= _MOST:
        raise NotGrey(f"{columns} × {rows} pixels")
    size = rows * (columns + 1)
    try:
        stream = zlib.decompressobj()
        raw = stream.decompress(chunks.get(b"IDAT", b""), size + 1)
    except zlib.error as error:
        raise NotGrey("its data are damaged") from error
    if len(raw) != size:
        raise NotGrey("its data are of another length")
    return DecodedGreys(columns, rows, _unfiltered(raw, columns, rows))


def _chunks(data: bytes) -> dict[bytes, bytes]:
    """Chunks by name; the parts of one kind in a row."""
    if not data.startswith(_BEGIN):
        raise NotGrey("no PNG")
    found: dict[bytes, bytes] = {}
    at = len(_BEGIN)
    while at + 12 <= len(data):
        (length,) = struct.unpack_from(">I", data, at)
        if at + 12 + length > len(data):
            raise NotGrey("its data are damaged")
        name, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        (told,) = struct.unpack_from(">I", data, at + 8 + length)
        if told != zlib.crc32(name + body):
            raise NotGrey("its data are damaged")
        found[name] = found.get(name, b"") + body
        at += 12 + length
    return found


def _unfiltered(raw: bytes, columns: int, rows: int) -> bytes:
    import numpy as np

    lines = np.frombuffer(raw, np.uint8).reshape(rows, columns + 1)
    above = np.zeros(columns, np.uint8)
    found = np.empty((rows, columns), np.uint8)
    for number, line in enumerate(lines):
        kind, values = int(line[0]), line[1:]
        if kind == 0:
            above = values
        elif kind == _LEFT:
            above = np.cumsum(values, dtype=np.uint8)
        elif kind == _UP:
            above = values + above
        elif kind in {_MEAN, _PAETH}:
            above = np.array(_one_by_one(kind, values.tolist(), above.tolist()), np.uint8)
        else:
            raise NotGrey("its data are damaged")
        found[number] = above
    return found.tobytes()


def _one_by_one(kind: int, values: list[int], above: list[int]) -> list[int]:
    found, left, corner = [], 0, 0
    for value, up in zip(values, above, strict=True):
        near = (left + up) // 2 if kind == _MEAN else _nearest(left, up, corner)
        left = (value + near) & 0xFF
        found.append(left)
        corner = up
    return found


def _nearest(left: int, up: int, corner: int) -> int:
    wanted = left + up - corner
    return min((left, up, corner), key=lambda one: abs(one - wanted))
