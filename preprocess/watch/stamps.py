"""Files that are watched: looked at often, and told once all of them rest."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

LOOK = 0.15
"""Seconds between two looks at the files."""

REST = 0.12
"""Seconds without a change before a run begins: programs save in several steps."""

Stamp = tuple[int, int, int] | None
"""Time of the last change (ns), bytes, number of the file; None where there is no such file.

The number tells a file that a program put in place of the old one.
"""


def stamp_of(path: str) -> Stamp:
    """The stamp of a file as it lies there now."""
    try:
        known = os.stat(path)  # noqa: PTH116 - called often, and in the middle of opening files
    except (OSError, ValueError):
        return None
    return known.st_mtime_ns, known.st_size, known.st_ino


def stamps_of(paths: Iterable[str | os.PathLike[str]]) -> dict[str, Stamp]:
    """Stamps of files, by their whole paths."""
    whole = (os.path.abspath(path) for path in paths)  # noqa: PTH100 - links stay links
    return {path: stamp_of(path) for path in whole}


class WatchedFiles:
    """Files of a job, with what they were like when last seen."""

    def __init__(self, named: Iterable[str | os.PathLike[str]]) -> None:
        self._named = stamps_of(named)
        self._seen: dict[str, Stamp] = dict(self._named)
        self._saved: set[str] = set()
        self._since = 0.0

    @property
    def paths(self) -> tuple[str, ...]:
        """Whole paths of all files that are watched, in their order."""
        return tuple(sorted(self._seen))

    def follow(self, read: Mapping[str, Stamp], *, only: bool) -> None:
        """Watch what a run read, as it was then; `only` leaves what earlier runs read.

        The files that the command names are watched in any case.
        """
        kept = {path: self._seen[path] for path in self._named} if only else self._seen
        self._seen = {**kept, **read}

    def saved(self, now: float) -> tuple[str, ...]:
        """The files that were saved, made or taken away since, once all have rested.

        Args:
            now: seconds by a clock that never goes back.
        """
        for path, seen in self._seen.items():
            stamp = stamp_of(path)
            if stamp != seen:
                self._seen[path] = stamp
                self._saved.add(path)
                self._since = now
        if not self._saved or now - self._since < REST:
            return ()
        saved = tuple(sorted(self._saved))
        self._saved.clear()
        return saved
