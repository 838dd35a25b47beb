"""Hearers of simulations: how far each has come, for whoever waits while a pass simulates."""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_hearer: ContextVar[Callable[[float], None] | None] = ContextVar("hearer", default=None)


def overheard(share: float) -> None:
    """Tell the hearer, if there is one, which share of a simulation was done since."""
    hear = _hearer.get()
    if hear is not None:
        hear(share)


@contextmanager
def heard_by(hear: Callable[[float], None]) -> Iterator[None]:
    """Let `hear` know the shares of all simulations that tell nobody else; no result depends on it.

    A simulation tells 1 in all.
    """
    token = _hearer.set(hear)
    try:
        yield
    finally:
        _hearer.reset(token)
