"""State of the streams and files of one run, to be told when it is interrupted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(slots=True)
class _Run:
    output_taken: bool = False
    written: list[str] = field(default_factory=list)
    left: str = ""


_run = _Run()


def begin() -> None:
    """Forget what an earlier run in this process did."""
    _run.output_taken, _run.left = False, ""
    _run.written.clear()


def take_standard_output() -> None:
    """Keep standard output for a file that is piped; results in JSON go to standard error then."""
    _run.output_taken = True


def is_output_taken() -> bool:
    """Test whether a file is piped through standard output."""
    return _run.output_taken


def say_if_interrupted(text: str) -> None:
    """Keep the words to say of work that is half done, should it be interrupted."""
    _run.left = text


def remember_written(paths: Iterable[str]) -> None:
    """Files that are written now, to be told should the rest be interrupted."""
    _run.written += paths


def interrupted_words() -> str:
    """Words on what was written before the work was interrupted, and what was not."""
    if _run.left:
        return f"interrupted: {_run.left}"
    if _run.written:
        return f"interrupted: written whole before: {', '.join(_run.written)}; nothing else was"
    return "interrupted: nothing was written, and older files are as they were"
