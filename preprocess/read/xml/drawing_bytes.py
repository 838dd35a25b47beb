"""The bytes of a drawing: no more of them than are allowed, and nothing that never ends."""

from __future__ import annotations

import os
import stat
from typing import TYPE_CHECKING, BinaryIO

from preprocess.errors import Place, wrong
from preprocess.loading.yaml.text_files import why_unread
from preprocess.model.options.limits import MIB
from preprocess.units import digits

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.errors import UserError


def read_drawing_bytes(path: Path, most: float, noun: str = "drawing") -> bytes:
    """The bytes of a file that a person named; its size is looked at first.

    Raises:
        UserError: the file is missing, is a folder, is too large, or cannot be read.
    """
    try:
        with path.open("rb") as file:
            known = os.fstat(file.fileno())
            if stat.S_ISREG(known.st_mode) and known.st_size > most:
                raise too_large(known.st_size, most, str(path))
            return read_at_most(file, most, str(path))
    except (OSError, ValueError) as error:
        found, remedy = why_unread(path, error, noun)
        raise wrong(found, remedy, place=Place(str(path))) from error


def read_at_most(file: BinaryIO, most: float, name: str) -> bytes:
    """All bytes of a file or stream that may have no end.

    Raises:
        UserError: there are more than are allowed.
    """
    data = file.read(int(most) + 1)
    if len(data) > most:
        raise too_large("the file has more", most, name)
    return data


def too_large(has: int | str, most: float, name: str) -> UserError:
    """The error for a drawing of so many bytes, or what was found instead of their number."""
    found = has if isinstance(has, str) else f"the file has {digits(has / MIB, 4)} MiB"
    remedy = "split it, or raise limits: file in the recipe"
    return wrong(f"{found}, and {digits(most / MIB, 4)} MiB are allowed", remedy, place=Place(name))


def expect_text(path: Path) -> str:
    """The name of a file, which outputs will hold.

    Raises:
        UserError: its bytes are no text in the encoding of the file system.
    """
    try:
        path.name.encode()
    except UnicodeEncodeError as error:
        found = "the name of this drawing is no UTF-8 text, so no report or picture can hold it"
        raise wrong(found, "rename it", place=Place(str(path))) from error
    return path.name
