"""Images in data URLs: type by the first bytes, size in pixels.

Sources: PNG (third edition), GIF89a, JPEG (ITU-T T.81, annex B), WebP (RFC 9649).
"""

from __future__ import annotations

import base64
import binascii
import re
import struct
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes

_URL = re.compile(r"data:([^,]*),(.*)\Z", re.DOTALL | re.IGNORECASE)
_SPACE = re.compile(r"\s+")
_NO_SIZE = frozenset({0xC4, 0xC8, 0xCC})
_ALONE = frozenset({0x01, *range(0xD0, 0xD8)})


@dataclass(frozen=True, slots=True)
class Raster:
    """A picture: its type, width and height in pixels, its bytes in base64."""

    media: str
    pixels: tuple[int, int]
    data: str


def embedded_raster(url: str) -> Raster | None:
    """The picture in a data URL; None when it is no PNG, JPEG, GIF or WebP, whatever it claims."""
    match = _URL.match(url.strip())
    if match is None:
        return None
    try:
        if match[1].lower().rstrip().endswith(";base64"):
            text = _SPACE.sub("", unquote_to_bytes(match[2]).decode("ascii"))
            data = base64.b64decode(text + "=" * (-len(text) % 4), validate=True)
        else:
            data = unquote_to_bytes(match[2])
    except (ValueError, binascii.Error):
        return None
    found = _measured(data)
    if found is None or min(found[1]) <= 0:
        return None
    return Raster(*found, base64.b64encode(data).decode("ascii"))


def _measured(data: bytes) -> tuple[str, tuple[int, int]] | None:
    for begin, media, measure in _KINDS:
        if data.startswith(begin):
            try:
                size = measure(data)
            except (struct.error, IndexError):
                return None
            return (media, size) if size else None
    return None


def _png(data: bytes) -> tuple[int, int] | None:
    width, height = struct.unpack_from(">II", data, 16)
    return (width, height) if data[12:16] == b"IHDR" else None


def _gif(data: bytes) -> tuple[int, int] | None:
    width, height = struct.unpack_from("<HH", data, 6)
    return width, height


def _jpeg(data: bytes) -> tuple[int, int] | None:
    at = 2
    while data[at] == 0xFF:  # noqa: PLR2004 - every marker begins so
        kind = data[at + 1]
        if kind == 0xFF or kind in _ALONE:  # noqa: PLR2004 - filling
            at += 1 if kind == 0xFF else 2  # noqa: PLR2004
        elif 0xC0 <= kind <= 0xCF and kind not in _NO_SIZE:  # noqa: PLR2004 - context headers
            height, width = struct.unpack_from(">HH", data, at + 5)
            return width, height
        else:
            at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])
    return None


def _webp(data: bytes) -> tuple[int, int] | None:
    kind = data[8:16]
    if kind == b"WEBPVP8 ":
        width, height = struct.unpack_from("<HH", data, 26)
        return width & 0x3FFF, height & 0x3FFF
    if kind == b"WEBPVP8L":
        bits = struct.unpack_from("<I", data, 21)[0]
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"WEBPVP8X":
        width, height = (int.from_bytes(data[i : i + 3], "little") + 1 for i in (24, 27))
        return (width, height) if len(data) >= 30 else None  # noqa: PLR2004 - the header's length
    return None


_KINDS = (
    (b"\x89PNG\r\n\x1a\n", "image/png", _png),
    (b"\xff\xd8\xff", "image/jpeg", _jpeg),
    (b"GIF87a", "image/gif", _gif),
    (b"GIF89a", "image/gif", _gif),
    (b"RIFF", "image/webp", _webp),
)
