"""Drawings packed with gzip, as .svgz. Source: RFC 1952; SVG 2, appendix H."""

from __future__ import annotations

import zlib

_MAGIC = b"\x1f\x8b"
_GZIP = 16 + zlib.MAX_WBITS


class DamagedPackageError(Exception):
    """The data end too early, or do not match their checksum."""


class TooLargeError(Exception):
    """The data hold more than allowed."""


def unpacked(data: bytes, most: int) -> bytes:
    """The bytes of a drawing, unpacked where they are packed; at most so many.

    Raises:
        DamagedPackageError: they cannot be unpacked.
        TooLargeError: there are more.
    """
    found, left = b"", most
    while data[:2] == _MAGIC:
        stream = zlib.decompressobj(_GZIP)
        try:
            part = stream.decompress(data, left + 1)
        except zlib.error as error:
            raise DamagedPackageError from error
        if len(part) > left:
            raise TooLargeError
        if not stream.eof:
            raise DamagedPackageError
        found, left, data = found + part, left - len(part), stream.unused_data
    return found or data
