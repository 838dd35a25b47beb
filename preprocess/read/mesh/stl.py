"""STL, binary and as text, to triangles; damage is told with its place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import note
from preprocess.read.mesh.mesh_data import (
    MOST_TRIANGLES,
    Mesh,
    MeshBody,
    expect_few,
    expect_sound,
    model_error,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.findings import Finding

_HEAD, _EACH = 84, 50
"""Bytes before the triangles of a binary file, and of each of them."""

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])

_AGAIN = "export it again, and copy it whole"

_BOM = b"\xef\xbb\xbf"
_CORNER = rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)\s+"
_FACET = re.compile(
    rb"facet\s+normal\s+\S+\s+\S+\s+\S+\s+outer\s+loop\s+" + 3 * _CORNER + rb"endloop\s+endfacet",
    re.IGNORECASE,
)
_BETWEEN = re.compile(rb"\s*(?:(?:end)?solid\b[^\r\n]*\s*)*", re.IGNORECASE)
_LAST = re.compile(rb"endsolid\b[^\r\n]*\s*\Z", re.IGNORECASE)
_TEXT_STARTS = re.compile(rb"\s*solid\b[^\r\n]*[\r\n]+\s*(?:facet\b|endsolid\b|\Z)", re.IGNORECASE)
_LOOK = 4096
_PORTION = 2**22


def read_stl(data: bytes, name: str) -> Mesh:
    """The mesh of an STL file, in the units of the file, which names none.

    Args:
        data: bytes of the file.
        name: what to call it in messages.

    Raises:
        UserError: it is no STL, is cut off or damaged, holds nothing, or too much.
    """
    findings: list[Finding] = []
    count = int.from_bytes(data[80:_HEAD], "little") if len(data) >= _HEAD else -1
    if count >= 0 and len(data) == _HEAD + _EACH * count:
        triangles = _binary(data, count, name)
    elif _TEXT_STARTS.match(data[:_LOOK].removeprefix(_BOM)):
        triangles = _text(data.removeprefix(_BOM), name)
    else:
        triangles = _binary(data, _told_count(data, count, name), name)
        rest = len(data) - _HEAD - _EACH * count
        message = f"the model has {rest} bytes after its last triangle; they were not read"
        findings.append(note("model-trailing-bytes", message, "check that the model is whole"))
    expect_sound(triangles, name)
    return Mesh(bodies=(MeshBody("body", triangles),), unit=None, findings=tuple(findings))


def _told_count(data: bytes, count: int, name: str) -> int:
    """The number of triangles of a binary file that is longer than they are."""
    if not data:
        raise model_error(name, "the file is empty", _AGAIN)
    if count < 0:
        raise model_error(name, "the file is no STL: it is too short", _AGAIN)
    if len(data) < _HEAD + _EACH * count:
        whole = (len(data) - _HEAD) // _EACH
        found = f"the STL is cut off, or is none: it has {whole:,} triangles and says {count:,}"
        raise model_error(name, found, _AGAIN)
    if count == 0:
        remedy = "export the part again as STL or 3MF"
        raise model_error(name, "the file is no STL, or one without a triangle", remedy)
    return count


def _binary(data: bytes, count: int, name: str) -> Floats:
    expect_few(count, name)
    corners = np.frombuffer(data, _RECORD, count, _HEAD)["corners"]
    with np.errstate(invalid="ignore"):  # some of what is no number signals; it is told later
        return corners.astype(np.float64)


def _text(data: bytes, name: str) -> Floats:
    """Triangles of a text file, gathered in portions so that memory stays small."""
    found, count = [], 0
    for facets, line in _portions(data, name):
        count += len(facets)
        if count > MOST_TRIANGLES:
            expect_few(data.lower().count(b"endfacet"), name)
        found.append(_numbers(facets, name, line))
    if not _LAST.search(data[max(0, len(data) - _LOOK) :]):
        raise model_error(name, "the text STL has no endsolid: it is cut off", _AGAIN)
    return np.concatenate(found) if found else np.zeros((0, 3, 3))


def _portions(data: bytes, name: str) -> Iterator[tuple[list[tuple[bytes, ...]], int]]:
    """Facets as nine words each, and the line where they begin."""
    at, line = 0, 1
    while at < len(data):
        facets, start = [], at
        while at - start < _PORTION:
            between = _BETWEEN.match(data, at)
            at = between.end() if between else at
            facet = _FACET.match(data, at)
            if facet is None:
                break
            facets.append(facet.groups())
            at = facet.end()
        yield facets, line
        line += data.count(b"\n", start, at)
        if facet is None and at < len(data):
            found = "a facet of the text STL is not complete here"
            raise model_error(name, found, _AGAIN, line)
        if at == start:
            return


def _numbers(facets: list[tuple[bytes, ...]], name: str, line: int) -> Floats:
    try:
        return np.array(facets, dtype=np.float64).reshape(-1, 3, 3)
    except ValueError:
        word = next(w for facet in facets for w in facet if not _is_number(w))
        shown = word[:20].decode("ascii", "replace")
        found = f"the text STL holds {shown!r} in place of a number, after this line"
        comma = b"," in word
        remedy = "export it with decimal points" if comma else _AGAIN
        raise model_error(name, found, remedy, line) from None


def _is_number(word: bytes) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True
