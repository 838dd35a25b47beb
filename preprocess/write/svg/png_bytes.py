"""Images of greys and of few colours as PNG: small, the same bytes each time, no other library.

Source: PNG (third edition). Each row is written as its difference from the row above.
"""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Greys, PaletteCells
    from preprocess.model.artwork.grey import GreyImage

_BEGIN = b"\x89PNG\r\n\x1a\n"
_GREY, _PALETTE, _UP, _METRE = 0, 3, b"\x02", 1
_LEVEL = 9


def png_bytes(image: GreyImage) -> bytes:
    """The image as PNG, with the size of its cells."""
    import numpy as np

    cells = np.frombuffer(image.greys, np.uint8).reshape(image.rows, image.columns)
    across, down = (round(1000 / size) for size in image.cell)
    return _png(cells, _GREY, [(b"pHYs", struct.pack(">IIB", across, down, _METRE))])


def palette_png_bytes(cells: PaletteCells, colours: Sequence[str]) -> bytes:
    """Cells (rows × columns) that count colours (#rrggbb, at most 256); 0 is see-through."""
    palette = bytes.fromhex("".join(colours).replace("#", ""))
    return _png(cells, _PALETTE, [(b"PLTE", palette), (b"tRNS", b"\x00")])


def _png(cells: Greys | PaletteCells, kind: int, chunks: Sequence[tuple[bytes, bytes]]) -> bytes:
    import numpy as np

    rows, columns = cells.shape
    above = np.vstack([np.zeros((1, columns), np.uint8), cells[:-1]])
    raw = np.hstack([np.full((rows, 1), _UP[0], np.uint8), cells - above]).tobytes()
    head = struct.pack(">IIBBBBB", columns, rows, 8, kind, 0, 0, 0)
    body = (b"IDAT", zlib.compress(raw, _LEVEL))
    every = [(b"IHDR", head), *chunks, body, (b"IEND", b"")]
    return _BEGIN + b"".join(_chunk(name, data) for name, data in every)


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
