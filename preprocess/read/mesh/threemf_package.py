"""The package of a 3MF file: a ZIP with parts, unpacked bit by bit and never beyond a limit.

Source: 3MF Core Specification 1.3, chapters 1 and 2, and ECMA-376 part 2 for the relationships.
"""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING
from xml.parsers import expat

from preprocess.read.mesh.mesh_data import MOST_MODEL_BYTES, model_error

if TYPE_CHECKING:
    from collections.abc import Iterator

_RELATIONSHIPS = "_rels/.rels"
_MODEL = "/3dmodel"
"""The end of the type of the relationship to the model."""

_CHUNK = 2**20
_LONGEST = 2 * 2**20
"""Bytes that a single element may take; the parser holds it whole."""

_DAMAGES = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError),
    *(ValueError, RuntimeError, OverflowError, LookupError),
)
"""Errors by which Python's ZIP reader tells of damage; a password is a RuntimeError."""

_AGAIN = "export it again, and copy it whole"


@dataclass(slots=True)
class Package:
    """An open package: its name for messages, and the bytes that may still be unpacked."""

    name: str
    archive: zipfile.ZipFile
    left: int = MOST_MODEL_BYTES
    names: dict[str, str] = field(default_factory=dict)

    def parse(self, part: str, parser: expat.XMLParserType) -> None:
        """Feed a part of the package to a parser of XML.

        Raises:
            UserError: there is no such part, it is damaged, too large, or no sound XML.
        """
        fed = 0
        try:
            for chunk in self._chunks(part):
                fed += len(chunk)
                parser.Parse(chunk, False)  # noqa: FBT003 - expat takes no keyword
                if fed - max(parser.CurrentByteIndex, 0) > _LONGEST:
                    found = f"{part} in the 3MF has an element of more than 2 MiB"
                    raise model_error(self.name, found, _AGAIN)
            parser.Parse(b"", True)  # noqa: FBT003
        except expat.ExpatError as error:
            found = f"{part} in the 3MF is no sound XML ({expat.ErrorString(error.code)})"
            raise model_error(self.name, found, _AGAIN, error.lineno) from None

    def _chunks(self, part: str) -> Iterator[bytes]:
        held = self.names.get(part.lstrip("/").lower())
        if held is None:
            found = f"the 3MF names the part {part[:80]!r}, which is not in it"
            raise model_error(self.name, found, _AGAIN)
        try:
            stream = self.archive.open(held)
        except _DAMAGES as error:
            raise self._damaged(part, error) from None
        with stream:
            while chunk := self._read(stream, part):
                self.left -= len(chunk)
                if self.left < 0:
                    found = f"the 3MF unpacks to more than {MOST_MODEL_BYTES // 2**20} MiB"
                    raise model_error(self.name, found, "export the part alone, and coarser")
                yield chunk

    def _read(self, stream: IO[bytes], part: str) -> bytes:
        try:
            return stream.read(_CHUNK)
        except _DAMAGES as error:
            raise self._damaged(part, error) from None

    def _damaged(self, part: str, error: Exception) -> Exception:
        locked = "encrypted" in str(error) or "password" in str(error)
        found = f"{part} in the 3MF cannot be unpacked"
        if locked:
            return model_error(self.name, f"{found}: it is locked", "export it without a password")
        return model_error(self.name, found, _AGAIN)


def open_package(data: bytes, name: str) -> Package:
    """The package that the bytes of a 3MF file hold.

    Raises:
        UserError: they are no ZIP.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        names = {one.lower(): one for one in archive.namelist()}
    except _DAMAGES:
        found = "the 3MF is cut off or damaged: its table of contents cannot be read"
        raise model_error(name, found, _AGAIN) from None
    return Package(name, archive, names=names)


def new_parser(name: str) -> expat.XMLParserType:
    """A parser of XML whose names read "namespace name"; it takes no document type.

    Raises:
        UserError: while parsing, where there is one: no 3MF has it, and it may grow without end.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        found = "the XML in the 3MF declares a document type, which no 3MF may have"
        raise model_error(name, found, "export it again from the program that drew it")

    parser.StartDoctypeDeclHandler = refuse
    return parser


def main_part(package: Package) -> str:
    """The name of the part that holds the model.

    Raises:
        UserError: the package names none.
    """
    targets: list[str] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        if tag.endswith("Relationship") and attributes.get("Type", "").endswith(_MODEL):
            targets.append(attributes.get("Target", ""))

    parser = new_parser(package.name)
    parser.StartElementHandler = start
    if _RELATIONSHIPS not in package.names:
        found = "the file is a ZIP, but no 3MF: it does not say which part is its model"
        raise model_error(package.name, found, "unpack it, or export the part again")
    package.parse(_RELATIONSHIPS, parser)
    if not targets:
        found = "the 3MF does not say which of its parts is the model"
        raise model_error(package.name, found, _AGAIN)
    return targets[0]
