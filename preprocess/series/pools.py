"""Worker pools: processes of this machine, or the workers of a Dask cluster."""

from __future__ import annotations

import sys
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any, Protocol

from preprocess.errors import wrong
from preprocess.process_limits import begin_worker
from preprocess.series.tasks import DesignTask, TaskResult, run_task

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

_DIED = "the worker died while it made this one: killed, or out of memory"
_REMEDY = "run this design alone, or give the series fewer workers"
_AHEAD = 2

NumberedTask = tuple[int, DesignTask]


class WorkerPool(Protocol):
    """Makes tasks, in any order, and tells what came of each."""

    def __call__(self, tasks: Iterable[NumberedTask], /) -> Iterator[tuple[int, TaskResult]]:
        """Yield the number of a task with what came of it, as soon as it is known."""


def process_pool(workers: int) -> WorkerPool:
    """Processes of this machine; one that dies loses nothing but the design it could not make."""

    def pool(tasks: Iterable[NumberedTask]) -> Iterator[tuple[int, TaskResult]]:
        waiting = iter(tasks)
        while True:
            lost: list[NumberedTask] = []
            yield from _until_broken(waiting, workers, lost)
            if not lost:
                return
            for number, task in lost:
                yield number, _alone(task)

    return pool


def _until_broken(
    tasks: Iterator[NumberedTask], workers: int, lost: list[NumberedTask]
) -> Iterator[tuple[int, TaskResult]]:
    """Work until all is done or a worker dies; what was under way then is `lost`."""
    with _executor(workers) as executor:
        running: dict[Future[TaskResult], NumberedTask] = {}
        try:
            while _fill(running, tasks, _AHEAD * workers, lambda t: executor.submit(run_task, t)):
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in sorted(done, key=lambda future: running[future][0]):
                    made = future.result()
                    yield running.pop(future)[0], made
        except BrokenProcessPool:
            lost.extend(sorted(running.values(), key=lambda numbered: numbered[0]))


def _fill(
    running: dict[Future[TaskResult], NumberedTask],
    tasks: Iterator[NumberedTask],
    most: int,
    submit: Callable[[DesignTask], Future[TaskResult]],
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


def _alone(task: DesignTask) -> TaskResult:
    """One task in a process of its own."""
    with _executor(1) as executor:
        try:
            return executor.submit(run_task, task).result()
        except BrokenProcessPool:
            return TaskResult(problems=(f"{_DIED}; {_REMEDY}",))


@contextmanager
def _executor(workers: int) -> Iterator[ProcessPoolExecutor]:
    """A pool that, when we are stopped, drops what has not begun and lets the rest end."""
    added = [] if sys.warnoptions else ["ignore"]
    sys.warnoptions += added  # children inherit it: libraries warn no person
    executor = ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=begin_worker
    )
    try:
        yield executor
    finally:
        executor.shutdown(wait=True, cancel_futures=True)
        for one in added:
            sys.warnoptions.remove(one)


def dask_pool(address: str) -> WorkerPool:
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


def _on_cluster(client: Any, as_completed: Any) -> WorkerPool:
    def pool(tasks: Iterable[NumberedTask]) -> Iterator[tuple[int, TaskResult]]:
        with client:
            waiting, numbers = iter(tasks), {}
            ahead = _AHEAD * max(1, sum(client.nthreads().values()))
            queue = as_completed(loop=client.loop)

            def more() -> None:
                numbered = next(waiting, None)
                if numbered is not None:
                    future = client.submit(run_task, numbered[1], pure=False)
                    numbers[future.key] = numbered[0]
                    queue.add(future)

            for _ in range(ahead):
                more()
            for future in queue:
                number = numbers.pop(future.key)
                error = future.exception()
                lost = TaskResult(problems=(f"{_DIED}; {_REMEDY} ({error})",))
                yield number, future.result() if error is None else lost
                more()

    return pool
