"""Files that a run opens, each with its stamp from just before, found there or not."""

from __future__ import annotations

import os
import sysconfig
from pathlib import Path
from typing import TYPE_CHECKING, Any

import preprocess
from preprocess.watch.stamps import stamp_of

if TYPE_CHECKING:
    from preprocess.watch.stamps import Stamp

_CODE = (".py", ".pyc", ".so", ".pyd", ".dll", ".dylib")


class OpenedFiles:
    """Hears of each file that this process opens to read; for `sys.addaudithook`.

    A recipe with a mistake does not tell what it read: this does, and it tells of files that are
    not there too, so that making one is noticed. Python's own files and ours are left out. A hook
    stays for as long as the process, so it hears only while `is_on`.
    """

    def __init__(self) -> None:
        self.is_on = False
        self.stamps: dict[str, Stamp] = {}
        places = [Path(preprocess.__file__).parent, *map(Path, sysconfig.get_paths().values())]
        self._ours = tuple(f"{place}{os.sep}" for place in places)

    def __call__(self, event: str, arguments: tuple[Any, ...]) -> None:
        """Take note of a file that is about to be opened."""
        if not self.is_on or event != "open":
            return
        path, mode, _ = arguments
        if not isinstance(path, str | bytes | os.PathLike) or set(mode or "r") & set("wax+"):
            return
        whole = os.path.abspath(os.fsdecode(path))  # noqa: PTH100 - links stay links
        if not whole.startswith(self._ours) and not whole.endswith(_CODE):
            self.stamps.setdefault(whole, stamp_of(whole))
