"""Standard input, output and error: what to do where one is closed, full or in another encoding."""

from __future__ import annotations

import os
import sys
import warnings
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from preprocess.errors import wrong

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.errors import UserError


def prepare_streams() -> None:
    """Open closed streams on nothing, so that writing to them fails; escape what a locale lacks.

    Without this the first file that is opened would take the place of a closed stream.
    """
    modes = {"stdin": "r", "stdout": "w", "stderr": "w"}
    for number, (name, mode) in enumerate(modes.items()):
        if getattr(sys, name) is None:
            with suppress(OSError):
                handle = os.open(os.devnull, os.O_RDONLY)
                if handle != number:
                    os.dup2(handle, number)
                setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def drop_unwritten() -> None:
    """Forget what a stream could not take, which Python would complain of at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


@contextmanager
def written_to(stream: str) -> Iterator[None]:
    """Turn a failure to write to a stream into an error; a reader who has gone is none of ours.

    Raises:
        UserError: the stream is closed, its disk is full and the like.
    """
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise stream_error(stream, error) from error


def stream_error(stream: str, error: OSError) -> UserError:
    """The error in a sentence."""
    reason = (error.strerror or "unknown reason").lower()
    remedy = "send it to a file that can be written, and run again"
    return wrong(f"{stream} cannot be written ({reason})", remedy)


@contextmanager
def warnings_kept() -> Iterator[list[str]]:
    """Keep what libraries warn of from people; it is in the report of a bug, should one follow."""
    kept: list[str] = []
    with warnings.catch_warnings():
        if not sys.warnoptions:
            warnings.simplefilter("default")
            warnings.showwarning = lambda message, category, filename, line, *_: kept.append(
                f"{filename}:{line}: {category.__name__}: {message}"
            )
        yield kept
