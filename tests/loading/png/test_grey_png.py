"""The decoder of greys, against Pillow and against filters worked out from the standard."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from preprocess.loading.png.grey_png import NotGrey, decode_greys

GREYS = np.random.default_rng(4).integers(0, 256, (9, 13)).astype(np.uint8)


def saved(image, **how):
    held = io.BytesIO()
    image.save(held, "PNG", **how)
    return held.getvalue()


def filtered(greys, kind):
    """A PNG of one filter for all rows: PNG, third edition, section 9.2, one byte at a time."""
    lines = []
    for y, row in enumerate(greys.astype(int)):
        line = [kind]
        for x, value in enumerate(row):
            a = int(row[x - 1]) if x else 0
            b = int(greys[y - 1, x]) if y else 0
            c = int(greys[y - 1, x - 1]) if x and y else 0
            p = a + b - c
            pa, pb, pc = abs(p - a), abs(p - b), abs(p - c)
            paeth = a if pa <= pb and pa <= pc else b if pb <= pc else c
            line.append((value - (0, a, b, (a + b) // 2, paeth)[kind]) % 256)
        lines.append(bytes(line))
    height, width = greys.shape

    def chunk(name, body):
        size, check = (struct.pack(">I", n) for n in (len(body), zlib.crc32(name + body)))
        return size + name + body + check

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = zlib.compress(b"".join(lines))
    parts = (chunk(b"IDAT", data[:20]), chunk(b"IDAT", data[20:]))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + b"".join(parts) + chunk(b"IEND", b"")


@pytest.mark.parametrize("kind", range(5))
def test_each_filter_and_parts_in_a_row(kind):
    data = filtered(GREYS, kind)
    with Image.open(io.BytesIO(data)) as opened:
        assert np.array_equal(np.array(opened), GREYS)  # the file itself is right
    found = decode_greys(data)
    assert (found.columns, found.rows) == (13, 9)
    assert found.greys == GREYS.tobytes()


def test_what_pillow_writes():
    assert decode_greys(saved(Image.fromarray(GREYS))).greys == GREYS.tobytes()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no PNG"),
        (b"\xff\xd8\xff", "no PNG"),
        (saved(Image.fromarray(GREYS).convert("RGB")), "8-bit greys"),
        (saved(Image.fromarray(GREYS).convert("LA")), "8-bit greys"),
        (saved(Image.fromarray(GREYS).convert("1")), "8-bit greys"),
        (saved(Image.fromarray(GREYS), transparency=7), "transparent"),
        (saved(Image.fromarray(GREYS))[:60], "damaged"),
    ],
)
def test_what_is_no_picture_of_greys_is_told(data, words):
    with pytest.raises(NotGrey, match=words):
        decode_greys(data)


def test_damage_is_seen():
    data = bytearray(saved(Image.fromarray(GREYS)))
    data[-20] ^= 1
    with pytest.raises(NotGrey, match="damaged"):
        decode_greys(bytes(data))
