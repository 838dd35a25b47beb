"""Workers that do as the watched file says, without any of the real work; and a desk for them."""

from __future__ import annotations

import os
import threading
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, Place
from preprocess.process_limits import begin_worker
from preprocess.watch.hub import Hub
from preprocess.watch.messages import Drawn, Finished, Found, Mistaken, Named, Opened, View
from preprocess.watch.stamps import stamps_of
from preprocess.watch.supervisor import PATIENCE, Supervisor

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.watch.state import WatchState

SAFETY = 120.0
"""Seconds after which a test gives up; nothing is measured by it."""


def obedient(pipe) -> None:
    """A worker: its task is a path, and the text of the file there says what happens."""
    begin_worker()
    path = pipe.recv()
    stamps, text = stamps_of([path]), Path(path).read_text("utf-8")
    word, _, more = text.partition(" ")
    pipe.send(Opened(stamps | stamps_of([more] if word == "also" else []), word != "mistake"))
    if word == "die":
        os._exit(9)
    if word == "hang":
        pipe.send(Named("hanging"))
        threading.Event().wait()
    if word == "mistake":
        pipe.send(Mistaken((Complaint("by is 'widht'", "write width", Place(path, 23, 21)),)))
    else:
        pipe.send(Found(()))
        pipe.send(Drawn(View.CHANGES, text.encode()))
    pipe.send(Finished())


class Desk:
    """A watched file with a supervisor at work on it; states are waited for, never slept for."""

    def __init__(self, path: Path, patience: float) -> None:
        self.path, self.hub = path, Hub()
        self.began = 0
        self.supervisor = Supervisor(
            str(path), [str(path)], self.hub, self._count, target=obedient, patience=patience
        )

    def _count(self, state: WatchState, message: object) -> None:
        self.began = max(self.began, state.run)

    def save(self, text: str) -> None:
        self.path.write_text(text, "utf-8")

    def until(self, fits: Callable[[WatchState], bool]) -> WatchState:
        """The first state that fits."""
        return state_until(self.hub, fits)

    def done(self, run: int) -> WatchState:
        return self.until(lambda state: state.run >= run and not state.busy)

    def shown(self) -> str:
        """The text that is shown in place of a picture."""
        shown = self.hub.state.pictures[View.CHANGES]
        return self.hub.picture(f"{View.CHANGES}/{shown.number}").decode()


def state_until(hub: Hub, fits: Callable[[WatchState], bool]) -> WatchState:
    version, state = hub.wait(-1)
    while not fits(state):
        before = version
        version, state = hub.wait(version, SAFETY)
        assert version > before, f"nothing more was heard after {state}"
    return state


@contextmanager
def desk(path: Path, text: str, patience: float = PATIENCE) -> Iterator[Desk]:
    path.write_text(text, "utf-8")
    made = Desk(path, patience)
    thread = threading.Thread(target=made.supervisor.run)
    thread.start()
    try:
        yield made
    finally:
        made.supervisor.stop()
        thread.join(SAFETY)
    assert not thread.is_alive()
