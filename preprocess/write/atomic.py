"""Files appear whole or not at all; a failed run leaves the old one as it was."""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

from preprocess.errors import Place, UserError, wrong


def replace_file(path: Path, data: bytes) -> None:
    """Put `data` in place of the file in one step; a link keeps pointing where it points.

    Devices and pipes cannot be replaced and are written to.

    Raises:
        UserError: no such folder, no right to write, path is a folder, disk full and the like.
    """
    target = Path(os.path.realpath(path))
    try:
        if target.is_dir():
            raise wrong("this is a folder, not a file", "give a file name", place=_at(path))
        if not target.parent.is_dir():
            raise wrong(
                f"there is no folder {str(target.parent)!r}",
                "make it first, or write somewhere else",
                place=_at(path),
            )
        if target.exists() and not target.is_file():
            target.write_bytes(data)
        else:
            _replace(target, data)
    except OSError as error:
        raise _unwritable(path, error) from error


def refuse_same(path: Path, *inputs: Path) -> None:
    """Refuse an output path that is one of the inputs, also by way of a link.

    Raises:
        UserError: they are the same file.
    """
    for other in inputs:
        if _same(path, other):
            raise wrong(
                f"the output would overwrite the input {str(other)!r}",
                "choose another name with -o",
                place=_at(path),
            )


def _same(one: Path, other: Path) -> bool:
    with suppress(OSError):
        if one.samefile(other):
            return True
    return os.path.realpath(one) == os.path.realpath(other)


def _replace(target: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(
        dir=target.parent, prefix=f".{target.name[:40]}.", suffix=".part"
    )
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode(target))
        Path(name).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise


def _mode(target: Path) -> int:
    """Rights of the file that is replaced; those of any new file otherwise."""
    if target.exists():
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _unwritable(path: Path, error: OSError) -> UserError:
    denied = isinstance(error, PermissionError)
    remedy = (
        "get the right to write in that folder, or write somewhere else"
        if denied
        else "free the disk, or write somewhere else"
    )
    reason = (error.strerror or "unknown reason").lower()
    return wrong(f"cannot write here ({reason})", remedy, place=_at(path))


def _at(path: Path) -> Place:
    return Place(str(path))
