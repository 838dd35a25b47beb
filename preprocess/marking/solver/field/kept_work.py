"""Work that is kept: one job is solved at many powers, and most of the work is the same.

What is kept never changes a figure: it is what would be worked out again.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from hashlib import blake2b
from threading import Lock
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Iterator

    from preprocess.marking.solver.exposures import Exposure

ROOM = 64 << 20
"""Bytes that may be kept in all."""

_SHARE = 3
"""One piece of work may take this part of the room."""

_TURNS = 4
"""What was not asked for in so many solutions makes room for other work."""


class Sized(Protocol):
    """Something that knows how much memory it takes."""

    @property
    def nbytes(self) -> int:
        """Bytes."""


_T = TypeVar("_T", bound=Sized)


@dataclass(slots=True)
class _Kept:
    """Pieces of a work, their bytes, and the turn in which they were asked for last."""

    pieces: tuple[Sized, ...]
    size: int
    turn: int


class KeptWork:
    """Pieces of work by what they follow from, within a bound of memory."""

    def __init__(self, room: int = ROOM) -> None:
        self._room, self._held, self._turn = room, 0, 0
        self._works: dict[Hashable, _Kept] = {}
        self._lock = Lock()

    def begin(self) -> None:
        """Say that another solution begins."""
        self._turn += 1

    def each(self, key: Hashable, make: Callable[[], Iterable[_T]]) -> Iterator[_T]:
        """What is kept under a key; else what is made now, which is kept where there is room.

        The same key must always stand for the same kind of work.
        """
        with self._lock:
            known = self._works.get(key)
            if known is not None:
                known.turn = self._turn
        if known is not None:
            yield from known.pieces  # type: ignore[misc]
            return
        made: list[Sized] | None = []
        size = 0
        for one in make():
            yield one
            size += one.nbytes
            if size > self._room // _SHARE:
                made = None
            elif made is not None:
                made.append(one)
        if made is not None:
            self._keep(key, tuple(made), size)

    def _keep(self, key: Hashable, made: tuple[Sized, ...], size: int) -> None:
        with self._lock:
            if self._held + size > self._room:
                self._drop_unasked()
            if key not in self._works and self._held + size <= self._room:
                self._works[key] = _Kept(made, size, self._turn)
                self._held += size

    def _drop_unasked(self) -> None:
        old = [key for key, one in self._works.items() if one.turn <= self._turn - _TURNS]
        for key in old:
            self._held -= self._works.pop(key).size


KEPT = KeptWork()
"""What this process keeps."""


def places_and_times(exposure: Exposure) -> Exposure:
    """All of an exposure but its energy: the same at any power."""
    drawn = None if exposure.drawn is None else places_and_times(exposure.drawn)
    return replace(exposure, energy=0.0, drawn=drawn)


def digest(*values: object) -> bytes:
    """A key for arrays, numbers and frozen values made of them."""
    found = blake2b(digest_size=16)
    for value in values:
        _add(found, value)
    return found.digest()


def _add(found: blake2b, value: object) -> None:
    if isinstance(value, np.ndarray):
        found.update(f"{value.dtype}{value.shape}".encode())
        found.update(np.ascontiguousarray(value).data)
    elif is_dataclass(value):
        for each in fields(value):
            _add(found, getattr(value, each.name))
    else:
        found.update(repr(value).encode() + b";")
