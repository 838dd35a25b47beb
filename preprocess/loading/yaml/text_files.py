"""Small text files that a person names: read whole, as UTF-8, or refused in one sentence."""

from __future__ import annotations

import os
from difflib import get_close_matches
from pathlib import Path

from preprocess.errors import Complaint, Place, UserError, wrong

MOST_BYTES = 1_000_000
"""Recipes, machines and filaments are written by hand; more than this is another kind of file."""


def read_text(path: Path, *, place: Place | None = None, most: int = MOST_BYTES) -> str:
    """Read a text file of modest size.

    Args:
        path: the file.
        place: where a file names it, if one does; else the message starts with the path.
        most: bytes that it may have.

    Raises:
        UserError: missing, a folder, not readable, too large, or not UTF-8.
    """
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise _refused(path, *why_unread(path, error), place) from None
    if len(data) > most:
        raise _refused(
            path, f"is over {most // 1_000_000} MB", "name the file that was meant", place
        )
    return decode_text(data, str(path))


def why_unread(path: Path, error: OSError | ValueError, noun: str = "file") -> tuple[str, str]:
    """Why a file that a person named cannot be read, and what to do about it."""
    if isinstance(error, FileNotFoundError):
        return "there is no such file", _near(path)
    if isinstance(error, IsADirectoryError):
        return "that is a folder", f"name a {noun} in it"
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return f"the {noun} cannot be read ({reason})", "check the path and its permissions"


def path_exists(path: Path, *, folder: bool = False) -> bool:
    """Test whether a file or folder exists; any text may be asked for."""
    try:
        return path.is_dir() if folder else path.exists()
    except (OSError, ValueError):
        return False


def relative_path(path: Path, folder: Path) -> str:
    """Path of a file as seen from a folder, with slashes; the whole path on another drive."""
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()


def decode_text(data: bytes, name: str) -> str:
    """Bytes of a file as text, without a byte order mark.

    Raises:
        UserError: not UTF-8.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        remedy = "save it as UTF-8 in the text editor"
        raise wrong("the file is not UTF-8 text", remedy, place=Place(name, line)) from None


def _refused(path: Path, found: str, remedy: str, place: Place | None) -> UserError:
    if place is None:
        return UserError(Complaint(found, remedy, Place(str(path))))
    return UserError(Complaint(f"{path}: {found}", remedy, place))


def _near(path: Path) -> str:
    try:
        names = sorted(other.name for other in path.parent.iterdir())
    except (OSError, ValueError):
        return "check the path"
    near = get_close_matches(path.name, names, n=1)
    return f"did you mean {path.with_name(near[0])}?" if near else "check the path"
