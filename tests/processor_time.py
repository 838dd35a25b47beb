"""A limit to the processor time of a piece of work, for runs over very many inputs."""

from __future__ import annotations

import signal
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


class TooLongError(BaseException):
    """Work took longer than it may; no handler of mere exceptions in the program catches this."""


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Stop what is done inside after so much processor time.

    Raises:
        TooLongError: it took longer.
    """
    signal.signal(signal.SIGPROF, _stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def _stop(*_: object) -> None:
    raise TooLongError
