"""The hub: the latest state and its pictures, for any number of listeners."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from preprocess.watch.messages import Drawn
from preprocess.watch.state import WatchState, address_of, carried_on

if TYPE_CHECKING:
    from preprocess.watch.messages import Message

_KEPT = 2
"""Pictures of each kind that are kept: the last one, and the one that a page may ask for still."""


class Hub:
    """Where the run puts what it has found, and where pages look for it; safe between threads.

    `version` counts the messages. A slow listener misses states in between, never the last one.
    """

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._state = WatchState()
        self._version = 0
        self._closed = False
        self._pictures: dict[str, bytes] = {}

    @property
    def state(self) -> WatchState:
        """The latest state."""
        return self._state

    @property
    def is_closed(self) -> bool:
        """True once nothing more will come."""
        return self._closed

    def put(self, message: Message) -> WatchState:
        """Carry the state on by a message, wake all listeners, and give the new state."""
        with self._changed:
            self._state = carried_on(self._state, message)
            if isinstance(message, Drawn):
                self._pictures[address_of(message.view, self._state.drawn)] = message.data
                of_view = [one for one in self._pictures if one.startswith(f"{message.view}/")]
                for old in of_view[:-_KEPT]:
                    del self._pictures[old]
            self._version += 1
            self._changed.notify_all()
            return self._state

    def picture(self, address: str) -> bytes | None:
        """A picture of the last two of its kind; None if it is older, or was never there."""
        with self._changed:
            return self._pictures.get(address)

    def wait(self, version: int, timeout: float | None = None) -> tuple[int, WatchState]:
        """The state with its version, as soon as it is newer than the one that is known.

        After the time (seconds), or when the hub is closed, whatever there is.
        """
        with self._changed:
            self._changed.wait_for(lambda: self._version > version or self._closed, timeout)
            return self._version, self._state

    def close(self) -> None:
        """Let all listeners go."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
