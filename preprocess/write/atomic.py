"""Files appear whole or not at all, several of them together; a failure leaves the old ones."""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.write.renames import Rename, rename_together
from preprocess.write.targets import check_target, is_device, unwritable_as_error

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence


@dataclass(frozen=True, slots=True)
class _Staged:
    """An output that lies ready beside its target; `part` is None for a device or pipe."""

    path: Path
    target: Path
    data: bytes
    part: Path | None

    @property
    def rename(self) -> Rename:
        """Rename that is left to do; the old file stays beside the new one until all is done."""
        part = self.part or self.target
        return Rename(part, self.target, part.with_suffix(".old"))


def replace_file(path: Path, data: bytes) -> None:
    """Put `data` in place of the file in one step; see `replace_files`."""
    replace_files([(path, data)])


def replace_files(outputs: Iterable[tuple[Path, bytes]]) -> None:
    """Put files in place of old ones, all of them or none.

    A link keeps pointing where it points. Devices and pipes cannot be replaced and are written to.

    Args:
        outputs: paths with their bytes; the first is the one that the others speak of, and is put
            in place last.

    Raises:
        UserError: no such folder, no right to write, path is a folder, disk full and the like.
    """
    with staged_files(outputs) as put_in_place:
        put_in_place()


@contextmanager
def staged_files(outputs: Iterable[tuple[Path, bytes]]) -> Iterator[Callable[[], None]]:
    """Write files aside; call the value to put all of them in place, as `replace_files` does.

    Raises:
        UserError: as `replace_files`.
    """
    staged: list[_Staged] = []
    try:
        for path, data in outputs:
            staged.append(_stage(path, data))
        yield partial(_put_in_place, staged)
    finally:
        for one in staged:
            if one.part is not None:
                for left in (one.part, one.rename.old):
                    with suppress(OSError):
                        left.unlink()


def _stage(path: Path, data: bytes) -> _Staged:
    check_target(path)
    with unwritable_as_error(path):
        target = Path(os.path.realpath(path))
        part = None if is_device(path) else _written_aside(target, data)
        return _Staged(path, target, data, part)


def _written_aside(target: Path, data: bytes) -> Path:
    handle, name = tempfile.mkstemp(
        dir=target.parent, prefix=f".{target.name[:40]}.", suffix=".part"
    )
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode(target))
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise
    return Path(name)


def _put_in_place(staged: Sequence[_Staged]) -> None:
    """Devices first, since what they were told cannot be taken back; then all renames in a row."""
    for one in staged:
        if one.part is None:
            with unwritable_as_error(one.path):
                one.path.write_bytes(one.data)
    files = [one for one in reversed(staged) if one.part is not None]
    for one in files if len(files) > 1 else ():
        with unwritable_as_error(one.path):
            _keep_old(one.rename)
    failed = rename_together([one.rename for one in files])
    if failed is not None:
        number, error = failed
        with unwritable_as_error(files[number].path):
            raise error
    for folder in dict.fromkeys(one.target.parent for one in files):
        _settle(folder)


def _keep_old(one: Rename) -> None:
    if one.target.exists():
        try:
            os.link(one.target, one.old)
        except OSError:  # no links on this disk, or none to files of others
            shutil.copy2(one.target, one.old)


def _settle(folder: Path) -> None:
    """Let the names reach the disk too, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _mode(target: Path) -> int:
    """Rights of the file that is replaced; those of any new file otherwise."""
    if target.exists():
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
