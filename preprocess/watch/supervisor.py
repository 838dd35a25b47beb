"""The supervisor: sees saved files, gives each run to a worker, and replaces workers that fail."""

from __future__ import annotations

import time
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from preprocess.units import digits
from preprocess.watch.messages import Began, Failed, Finished, Opened
from preprocess.watch.stamps import LOOK, WatchedFiles
from preprocess.watch.worker import Worker, work

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from preprocess.watch.hub import Hub
    from preprocess.watch.messages import Message
    from preprocess.watch.stages import WatchTask
    from preprocess.watch.state import WatchState
    from preprocess.watch.worker import Work

PATIENCE = 300.0
"""Seconds that a run may be silent before it is stopped."""


class Supervisor:
    """Keeps one run under way at most, and one worker waiting for the next."""

    def __init__(
        self,
        task: WatchTask,
        named: Iterable[str],
        hub: Hub,
        tell: Callable[[WatchState, Message], None],
        *,
        target: Work = work,
        patience: float = PATIENCE,
    ) -> None:
        self._task, self._hub, self._tell = task, hub, tell
        self._target, self._patience = target, patience
        self._files = WatchedFiles(named)
        self._told: SimpleQueue[tuple[Worker | None, Message]] = SimpleQueue()
        self._current: Worker | None = None
        self._spare: Worker | None = None
        self._heard = self._looked = 0.0
        self._stopped = False

    @property
    def files(self) -> tuple[str, ...]:
        """Whole paths of the files that are watched."""
        return self._files.paths

    @property
    def workers(self) -> tuple[int | None, ...]:
        """Numbers of the processes that work or wait."""
        return tuple(one.number for one in (self._current, self._spare) if one is not None)

    def stop(self) -> None:
        """End `run`; may be called by a signal or another thread."""
        self._stopped = True
        self._told.put((None, Finished()))

    def run(self) -> None:
        """Run the job now and after each save, until it is stopped; leaves no process behind."""
        try:
            self._begin(())
            while not self._stopped:
                self._hear()
                self._look()
        finally:
            for worker in (self._current, self._spare):
                if worker is not None:
                    worker.end()
            self._hub.close()

    def _hear(self) -> None:
        """Wait a moment for a message, and take it."""
        try:
            sender, message = self._told.get(timeout=LOOK)
        except Empty:
            self._expect_life()
            return
        if sender is None:
            return
        if sender is self._spare:
            self._spare = None  # it died while it waited; the next run starts another
        elif sender is self._current:
            self._take(message)

    def _take(self, message: Message) -> None:
        """Pass on what the run tells; when it is over, put a new worker in place of the old."""
        self._heard = time.monotonic()
        if isinstance(message, Opened):
            self._files.follow(message.stamps, only=message.whole)
        self._put(message)
        if isinstance(message, Finished | Failed):
            self._dismiss()

    def _put(self, message: Message) -> None:
        self._tell(self._hub.put(message), message)

    def _dismiss(self) -> None:
        if self._current is not None:
            self._current.end()
        self._current = None
        if self._spare is None:
            self._spare = Worker(self._target, self._told)

    def _look(self) -> None:
        """Look at the files now and then; begin anew when they were saved and rest."""
        now = time.monotonic()
        if now - self._looked < LOOK:
            return
        self._looked = now
        if saved := self._files.saved(now):
            self._begin(saved)

    def _begin(self, saved: tuple[str, ...]) -> None:
        """Cancel the run under way, if any, and begin one that sees what was saved."""
        if self._current is not None:
            self._current.end()
        self._current, self._spare = self._spare, None
        if self._current is None or not self._current.begin(self._task):
            self._current = Worker(self._target, self._told)
            self._current.begin(self._task)
        self._heard = time.monotonic()
        self._put(Began(saved))

    def _expect_life(self) -> None:
        """Stop a run that has been silent for too long."""
        if self._current is None or time.monotonic() - self._heard <= self._patience:
            return
        self._put(
            Failed(
                f"The run told nothing for {digits(self._patience)} s and was stopped. "
                "evenmark run takes as long as a job needs."
            )
        )
        self._dismiss()
