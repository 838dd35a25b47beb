"""Messages of a run: what a worker tells as it goes on, and what became of the worker."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.errors import Complaint
    from preprocess.watch.stamps import Stamp


class View(StrEnum):
    """Pictures of a job: what was changed, predicted heat, and the beam played back."""

    CHANGES = "changes"
    HEAT = "heat"
    PLAYBACK = "playback"


class FindingLine(NamedTuple):
    """One line of findings: its label, such as "warn", and its text."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Began:
    """A run begins, for these files were saved; none for the first."""

    saved: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """Files that were read, with their stamps; `whole` if nothing was left unread by a mistake."""

    stamps: Mapping[str, Stamp]
    whole: bool


@dataclass(frozen=True, slots=True)
class Named:
    """Name of the drawing, and a sentence on how its recipe came about, if any."""

    title: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Mistaken:
    """Mistakes that a person has to put right; nothing was converted."""

    complaints: tuple[Complaint, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """All findings so far, in lines; `stopped` if one forbids writing, and nothing was drawn."""

    lines: tuple[FindingLine, ...]
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture, with the sentence that belongs to it; `coarse` if a better one follows."""

    view: View
    data: bytes
    says: str = ""
    coarse: bool = False


@dataclass(frozen=True, slots=True)
class Finished:
    """The run has come to its end."""


@dataclass(frozen=True, slots=True)
class Failed:
    """The run has not come to its end: a fault of ours, or the worker's death. One sentence."""

    why: str


Message = Began | Opened | Named | Mistaken | Found | Drawn | Finished | Failed
