"""Processes of a session: all that a command started in one of its own, counted in /proc."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

counts_processes = pytest.mark.skipif(
    not Path("/proc/self/stat").exists(), reason="processes are counted in /proc"
)

_SAFETY = 20.0


def is_alive(number: int) -> bool:
    """Test whether a process is there and has not ended."""
    return _state(Path(f"/proc/{number}/stat")) is not None


def members(session: int) -> list[int]:
    """Processes of a session that have not ended."""
    states = {path: _state(path) for path in Path("/proc").glob("[0-9]*/stat")}
    return [int(path.parent.name) for path, of in states.items() if of == session]


def expect_members(session: int, fewest: int) -> None:
    """Expect so many at least; a process is heard of before all that it starts are there."""
    _wait_until(lambda: len(members(session)) >= fewest)
    assert len(members(session)) >= fewest


def expect_nobody(session: int) -> None:
    """Expect that all end; the last helper of Python goes when it hears that its parent has."""
    _wait_until(lambda: not members(session))
    assert members(session) == []


def _wait_until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + _SAFETY
    while not true() and time.monotonic() < deadline:
        time.sleep(0.05)


def _state(path: Path) -> int | None:
    """The session of a process; None once it has ended."""
    try:
        state, _, _, session = path.read_text().rpartition(")")[2].split()[:4]
    except (OSError, ValueError):
        return None
    return None if state == "Z" else int(session)
