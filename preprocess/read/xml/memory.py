"""How much memory one drawing may take, held by the system where it can, and how it is freed."""

from __future__ import annotations

import gc
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from preprocess.errors import Place, UserError, wrong
from preprocess.model.options.limits import MIB

if TYPE_CHECKING:
    from collections.abc import Iterator


_SELDOM = 100_000
"""New objects after which to look for cycles among them; Python's own figure is 700 to 2000."""


@contextmanager
def seldom_collected() -> Iterator[None]:
    """Look for cycles seldom: what is made of a drawing stays, and looking takes a tenth."""
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
def at_most(size: float | None, name: str) -> Iterator[None]:
    """Hold this process to a size while it works on a drawing.

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


def _refused(size: float | None, name: str) -> UserError:
    allowed = "" if size is None else f", and {size / MIB:.6g} MiB are allowed"
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
