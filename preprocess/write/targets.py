"""Targets of outputs: obstacles to writing are reported before any work is done."""

from __future__ import annotations

import errno
import os
import stat
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from preprocess.errors import UserError


def check_targets(paths: Sequence[Path], inputs: Iterable[Path] = ()) -> None:
    """Refuse what cannot be written, would overwrite an input, or is named twice.

    Raises:
        UserError: no folder there, no right to write, a folder, an input, two alike.
    """
    known = list(inputs)
    for path in paths:
        check_target(path)
        refuse_same(path, *known)
    seen: dict[str, Path] = {}
    for path in paths:
        if seen.setdefault(os.path.realpath(path), path) is not path:
            raise wrong(
                f"{path} would be written twice",
                "give each output a name of its own",
                place=Place(str(path)),
            )


def check_target(path: Path) -> None:
    """Refuse a path that nothing can be written to.

    Raises:
        UserError: no such folder, no right to write, a folder, a link that leads to itself.
    """
    with unwritable_as_error(path):
        if path.is_dir():
            raise wrong("this is a folder, not a file", "give a file name", place=Place(str(path)))
        folder = Path(os.path.realpath(path)).parent
        if is_device(path):
            allowed = os.access(path, os.W_OK)
        elif folder.is_dir():
            allowed = os.access(folder, os.W_OK | os.X_OK)
        else:
            raise wrong(
                f"there is no folder {str(folder)!r}",
                "make it first, or write somewhere else",
                place=Place(str(path)),
            )
        if not allowed:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def is_device(path: Path) -> bool:
    """Test whether it exists and can only be written to, not replaced: a device, a pipe.

    Raises:
        OSError: the system does not tell, as for a link that leads to itself.
    """
    try:
        return not stat.S_ISREG(path.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False


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
                place=Place(str(path)),
            )


def refuse_inputs_in(folder: Path, names: Iterable[str], inputs: Iterable[Path]) -> None:
    """Refuse outputs in a folder that are among the inputs, also by way of a link.

    Each file is looked at once, however many there are.

    Raises:
        UserError: they are the same file.
    """
    there = {entry.name: entry for entry in os.scandir(folder)}
    known: dict[tuple[int, int], Path] = {}
    for path in dict.fromkeys(inputs):
        with suppress(OSError):
            found = path.stat()
            known.setdefault((found.st_dev, found.st_ino), path)
    for name in names:
        if name in there:
            with suppress(OSError):
                found = (folder / name).stat()
                other = known.get((found.st_dev, found.st_ino))
                if other is not None:
                    refuse_same(folder / name, other)


@contextmanager
def unwritable_as_error(path: Path) -> Iterator[None]:
    """Say in one sentence why a file cannot be written.

    Raises:
        UserError: instead of an error of the system.
    """
    try:
        yield
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from error


def _same(one: Path, other: Path) -> bool:
    with suppress(OSError):
        if one.samefile(other):
            return True
    return os.path.realpath(one) == os.path.realpath(other)


def _unwritable(path: Path, error: OSError | ValueError) -> UserError:
    number = getattr(error, "errno", None)
    remedies = {
        errno.EACCES: "get the right to write in that folder, or write somewhere else",
        errno.EPERM: "get the right to write in that folder, or write somewhere else",
        errno.ELOOP: "mend the link, or write somewhere else",
        errno.ENAMETOOLONG: "give it a shorter name",
        None: "give it another name",
    }
    remedy = remedies.get(number, "free the disk, or write somewhere else")
    reason = (getattr(error, "strerror", None) or str(error) or "unknown reason").lower()
    return wrong(f"cannot write here ({reason})", remedy, place=Place(str(path)))
