"""Effects on the whole process: memory limit, garbage collection, threads, and how workers end.

Commands and workers of a series own their process and use them. `pipeline.convert` does not, so
that a notebook or another program keeps its own settings.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from preprocess.errors import Place, UserError, wrong
from preprocess.model.options.limits import MIB
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.engine.progress import StepMemory
    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

_SELDOM = 100_000
"""New objects between two searches for cycles; Python's own threshold is 700 to 2000."""


def use_one_thread_for_matrices() -> None:
    """Let numpy's linear algebra use one thread, unless the person has said how many.

    Our matrices are small: two threads wait for one another and take up to five times the
    processor time. It has an effect before numpy is imported only.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def begin_worker() -> None:
    """Leave interrupts to the parent, and the cores to other workers; end with the parent."""
    from multiprocessing import parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in _THREADS:
        os.environ.setdefault(name, "1")
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    """Wait until a process is gone, however it ended; then go too."""
    from multiprocessing import connection

    connection.wait([sentinel])
    os._exit(1)


@contextmanager
def collect_garbage_rarely() -> Iterator[None]:
    """Search for cycles of objects rarely: a drawing makes few, and the search takes a tenth."""
    before = gc.get_threshold()
    often = 0 < before[0] < _SELDOM
    if often:
        gc.set_threshold(_SELDOM, *before[1:])
    try:
        yield
    finally:
        if often:  # else another thread has slowed it down, and will give its threshold back
            gc.set_threshold(*before)


@contextmanager
def limit_memory(size: float | None, name: str) -> Iterator[None]:
    """Limit the memory of this process while it works on a drawing.

    Args:
        size: bytes, libraries counted in; None for no limit of ours.
        name: what to call the drawing in messages.

    Raises:
        UserError: the memory ran out, by this limit or by another.
    """
    held = _hold(size)
    try:
        yield
    except MemoryError:
        refused = _refused(size, name)
    except Exception as error:
        if "bad_alloc" not in str(error):  # what compiled libraries say of it
            raise
        refused = _refused(size, name)
    else:
        return
    finally:
        if held is not None:
            _set(held)
    raise refused


@contextmanager
def within_limits(loaded: LoadedRecipe, name: str) -> Iterator[None]:
    """Work on a drawing, or draw pictures of it, within the memory that the recipe allows.

    Raises:
        UserError: the memory ran out.
    """
    with collect_garbage_rarely(), limit_memory(loaded.options.limits.memory, name):
        yield


def convert_within_limits(
    loaded: LoadedRecipe,
    design: bytes,
    name: str,
    *,
    strict: bool = False,
    memory: StepMemory | None = None,
    tell: Callable[[], None] | None = None,
) -> Conversion:
    """Convert as `pipeline.convert` does, within the memory that the recipe allows.

    Raises:
        UserError: as `pipeline.convert`, or the memory ran out.
    """
    from preprocess.pipeline import convert

    with within_limits(loaded, name):
        told = {} if tell is None else {"tell": tell}
        return convert(loaded, design, name, strict=strict, memory=memory, **told)


def _refused(size: float | None, name: str) -> UserError:
    allowed = "" if size is None else f", and {digits(size / MIB)} MiB are allowed"
    remedy = "simplify it, split it, or raise limits: memory in the recipe"
    return wrong(f"the drawing needs more memory than there is{allowed}", remedy, place=Place(name))


def _hold(size: float | None) -> tuple[int, int] | None:
    """Lower the limit; returns the old one.

    None where the system has no such limit, has a lower one, or where other threads work too.
    """
    if size is None or sys.platform == "win32" or not _is_alone():
        return None
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    if soft != resource.RLIM_INFINITY and soft <= size:
        return None
    _set((int(size), hard))
    return soft, hard


def _is_alone() -> bool:
    return threading.current_thread() is threading.main_thread()


def _set(limits: tuple[int, int]) -> None:
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, limits)
