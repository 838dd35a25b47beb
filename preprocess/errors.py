"""Errors of the user's input: place, finding and remedy.

A `UserError` is one sentence for a person; the command line prints it without a traceback.
Anything else that escapes is our own bug.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Exit(IntEnum):
    """Exit codes that outside callers may rely on."""

    DONE = 0
    USER = 1
    USAGE = 2
    BUG = 3
    INTERRUPTED = 130


@dataclass(frozen=True, slots=True)
class Place:
    """Place of something found in a file; lines and columns count from 1."""

    file: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        return ":".join(str(part) for part in (self.file, self.line, self.column) if part)


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing that is wrong: where, what was found, what to do about it."""

    found: str
    remedy: str = ""
    place: Place | None = None

    def __str__(self) -> str:
        sentence = f"{self.found}; {self.remedy}" if self.remedy else self.found
        return f"{self.place}: {sentence}" if self.place else sentence


class UserError(Exception):
    """Input that a person has to put right; holds every complaint found, never just the first."""

    def __init__(self, complaints: Complaint | Iterable[Complaint]) -> None:
        if isinstance(complaints, Complaint):
            complaints = (complaints,)
        self.complaints: tuple[Complaint, ...] = tuple(complaints)
        super().__init__("\n".join(str(complaint) for complaint in self.complaints))


def wrong(found: str, remedy: str = "", *, place: Place | None = None) -> UserError:
    """Build the error for a single complaint."""
    return UserError(Complaint(found, remedy, place))


class Refusal(Exception):  # noqa: N818 - it is an answer, not an accident
    """A pass cannot do its work on this artwork; the pipeline adds the place."""

    def __init__(self, found: str, remedy: str) -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(f"{found}; {remedy}")
