"""Several renames in a row, all of them or none, whoever is killed meanwhile.

Where the system can fork, another process renames: it goes on when this one is killed.
"""

from __future__ import annotations

import errno
import os
import signal
import threading
import warnings
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

_ENDING = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]


@dataclass(frozen=True, slots=True)
class Rename:
    """A file that lies ready (`part`), where it is to go, and where its old one is kept."""

    part: Path
    target: Path
    old: Path


def rename_together(renames: Sequence[Rename]) -> tuple[int, OSError] | None:
    """Rename one after another; the first that fails undoes those before it.

    Returns:
        which one failed, counted from 0, and why; None when all went well.
    """
    with _signals_later():
        apart = len(renames) > 1 and hasattr(os, "fork")
        return _in_another_process(renames) if apart else _here(renames)


def _here(renames: Sequence[Rename]) -> tuple[int, OSError] | None:
    for number, one in enumerate(renames):
        try:
            one.part.replace(one.target)
        except OSError as error:
            for done in renames[:number]:
                _put_back(done)
            return number, error
    return None


def _put_back(one: Rename) -> None:
    with suppress(OSError):
        if one.old.exists():
            one.old.replace(one.target)
        else:
            one.target.unlink(missing_ok=True)


def _in_another_process(renames: Sequence[Rename]) -> tuple[int, OSError] | None:
    reading, writing = os.pipe()
    try:
        with warnings.catch_warnings():  # threads do no harm: the child only renames, then ends
            warnings.simplefilter("ignore", DeprecationWarning)
            child = os.fork()
    except OSError:
        os.close(reading)
        os.close(writing)
        return _here(renames)
    if child == 0:
        _rename_and_end(renames, writing)
    os.close(writing)
    told = os.read(reading, 64).split()
    os.close(reading)
    os.waitpid(child, 0)
    if len(told) != 2:  # noqa: PLR2004 - which one, and why
        for one in renames:
            _put_back(one)
        return 0, OSError(errno.EINTR, "the process that renames was killed")
    number, code = map(int, told)
    return None if number < 0 else (number, OSError(code, os.strerror(code)))


def _rename_and_end(renames: Sequence[Rename], writing: int) -> None:
    """The life of the child: it leaves the group of its parent, so that nothing ends it early."""
    try:
        for number in _ENDING:
            signal.signal(number, signal.SIG_IGN)
        with suppress(OSError):
            os.setsid()
        failed = _here(renames)
        number, code = (-1, 0) if failed is None else (failed[0], failed[1].errno or errno.EIO)
        os.write(writing, b"%d %d" % (number, code))
    finally:
        os._exit(0)


@contextmanager
def _signals_later() -> Iterator[None]:
    """Hold back what would end the process, until a few renames are done."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []
    before = {
        number: signal.signal(number, lambda number, _: held.append(number)) for number in _ENDING
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler or signal.SIG_DFL)
        for number in held:
            signal.raise_signal(number)
