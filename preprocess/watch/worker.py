"""Workers: processes that wait warm for one run each, so that a save need not wait for imports."""

from __future__ import annotations

import signal
import sys
import threading
import warnings
from contextlib import contextmanager, suppress
from multiprocessing import get_context, resource_tracker
from typing import TYPE_CHECKING

from preprocess.process_limits import begin_worker
from preprocess.watch.messages import Failed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from multiprocessing.connection import Connection
    from queue import SimpleQueue

    from preprocess.watch.messages import Message
    from preprocess.watch.stages import WatchTask

    Work = Callable[[Connection], None]
    Told = SimpleQueue[tuple["Worker | None", Message]]


def work(pipe: Connection) -> None:
    """The life of a worker: import all that a run needs, wait for the task, do it."""
    begin_worker()
    warnings.simplefilter("ignore")  # what libraries warn of is for no person
    _warm_up()
    from preprocess.watch.opened import OpenedFiles
    from preprocess.watch.stages import run_stages

    opened = OpenedFiles()
    sys.addaudithook(opened)
    with suppress(EOFError, OSError):  # the parent has gone
        for message in run_stages(pipe.recv(), opened):
            pipe.send(message)


def _warm_up() -> None:
    import preprocess.marking.prediction
    import preprocess.pipeline
    import preprocess.playback.page.page
    import preprocess.preview.heat_map.heat_map
    import preprocess.preview.overlay.overlay
    import preprocess.recipe.load  # noqa: F401 - all of them imported for what follows


class Worker:
    """One process for one run; it is killed when its run is over, or over too early."""

    def __init__(self, target: Work, told: Told) -> None:
        context = get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=target, args=(theirs,), daemon=True)
        with _interrupts_kept_here():
            self._process.start()
        theirs.close()
        threading.Thread(target=self._listen, args=(told,), daemon=True).start()

    @property
    def number(self) -> int | None:
        """The number of the process."""
        return self._process.pid

    def begin(self, task: WatchTask) -> bool:
        """Give it the task; whether it was still there to take it."""
        try:
            self._pipe.send(task)
        except OSError:
            return False
        return True

    def end(self) -> None:
        """Kill it, whatever it is doing: it writes nothing, so nothing is left half written."""
        self._process.kill()
        self._process.join()

    def _listen(self, told: Told) -> None:
        """Pass on what it tells, and at last how it ended."""
        with suppress(EOFError, OSError):
            while True:
                told.put((self, self._pipe.recv()))
        self._process.join()
        told.put((self, Failed(_death(self._process.exitcode))))


def _death(code: int | None) -> str:
    how = "killed, or out of memory" if code is None or code < 0 else f"exit code {code}"
    return f"The worker died before the end of the run ({how}). Save once more to run it again."


@contextmanager
def _interrupts_kept_here() -> Iterator[None]:
    """Let Ctrl-C reach this process alone, not a child that is still starting."""
    if sys.platform == "win32":
        yield
        return
    resource_tracker.ensure_running()  # which would let interrupts through again
    old = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, old)
