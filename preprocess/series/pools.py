"""Who does the work: processes of this machine, or the workers of a Dask cluster."""

from __future__ import annotations

import os
import signal
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any, Protocol

from preprocess.errors import wrong
from preprocess.series.work import Made, Task, make

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_DIED = "the worker died while it made this one: killed, or out of memory"
_REMEDY = "run this design alone, or give the series fewer workers"
_AHEAD = 2

Numbered = tuple[int, Task]


class Pool(Protocol):
    """Makes tasks, in any order, and tells what came of each."""

    def __call__(self, tasks: Iterable[Numbered], /) -> Iterator[tuple[int, Made]]:
        """Yield the number of a task with what came of it, as soon as it is known."""


def here() -> Pool:
    """One after another, in this process."""

    def pool(tasks: Iterable[Numbered]) -> Iterator[tuple[int, Made]]:
        for number, task in tasks:
            yield number, make(task)

    return pool


def processes(workers: int) -> Pool:
    """Processes of this machine; one that dies loses nothing but the design it could not make."""

    def pool(tasks: Iterable[Numbered]) -> Iterator[tuple[int, Made]]:
        waiting = iter(tasks)
        while True:
            lost: list[Numbered] = []
            yield from _until_broken(waiting, workers, lost)
            if not lost:
                return
            for number, task in lost:
                yield number, _alone(task)

    return pool


def _until_broken(
    tasks: Iterator[Numbered], workers: int, lost: list[Numbered]
) -> Iterator[tuple[int, Made]]:
    """Work until all is done or a worker dies; what was under way then is `lost`."""
    with _executor(workers) as executor:
        running: dict[Future[Made], Numbered] = {}
        try:
            while _fill(running, tasks, _AHEAD * workers, lambda t: executor.submit(make, t)):
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in sorted(done, key=lambda future: running[future][0]):
                    made = future.result()
                    yield running.pop(future)[0], made
        except BrokenProcessPool:
            lost.extend(sorted(running.values(), key=lambda numbered: numbered[0]))


def _fill(
    running: dict[Future[Made], Numbered],
    tasks: Iterator[Numbered],
    most: int,
    submit: Callable[[Task], Future[Made]],
) -> bool:
    """Keep so many tasks under way; whether there are any."""
    while len(running) < most:
        numbered = next(tasks, None)
        if numbered is None:
            break
        try:
            running[submit(numbered[1])] = numbered
        except BrokenProcessPool:
            running[Future()] = numbered
            raise
    return bool(running)


def _alone(task: Task) -> Made:
    """One task in a process of its own."""
    with _executor(1) as executor:
        try:
            return executor.submit(make, task).result()
        except BrokenProcessPool:
            return Made(problems=(f"{_DIED}; {_REMEDY}",))


@contextmanager
def _executor(workers: int) -> Iterator[ProcessPoolExecutor]:
    """A pool that, when we are stopped, drops what has not begun and lets the rest end."""
    executor = ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_begin_worker
    )
    try:
        yield executor
    finally:
        executor.shutdown(wait=True, cancel_futures=True)


def _begin_worker() -> None:
    """Leave interrupts to the parent, and the cores to the other workers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in _THREADS:
        os.environ.setdefault(name, "1")


def dask(address: str) -> Pool:
    """The workers of a running cluster, which need evenmark and the same passes.

    Raises:
        UserError: the extra is not installed, or no scheduler answers there.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError as error:
        remedy = "install it with: pip install 'evenmark[dask]'"
        raise wrong("dask is not installed", remedy) from error
    try:
        client = distributed.Client(address, timeout="10s", set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        remedy = "check the address, such as tcp://127.0.0.1:8786, and that the scheduler runs"
        raise wrong(f"no Dask scheduler answers at {address!r}", remedy) from error
    return _on_cluster(client, distributed.as_completed)


def _on_cluster(client: Any, as_completed: Any) -> Pool:
    def pool(tasks: Iterable[Numbered]) -> Iterator[tuple[int, Made]]:
        with client:
            waiting, numbers = iter(tasks), {}
            ahead = _AHEAD * max(1, sum(client.nthreads().values()))
            queue = as_completed(loop=client.loop)

            def more() -> None:
                numbered = next(waiting, None)
                if numbered is not None:
                    future = client.submit(make, numbered[1], pure=False)
                    numbers[future.key] = numbered[0]
                    queue.add(future)

            for _ in range(ahead):
                more()
            for future in queue:
                number = numbers.pop(future.key)
                error = future.exception()
                lost = Made(problems=(f"{_DIED}; {_REMEDY} ({error})",))
                yield number, future.result() if error is None else lost
                more()

    return pool
