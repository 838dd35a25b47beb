"""What the user is told, as data: nothing here prints."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Severity(StrEnum):
    """How much a finding matters: a stop writes nothing, a warning does, a note informs."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something a person should know before the beam goes on.

    `code` is stable and kebab-case; `elements` are ids (or element paths) of the drawing;
    `spot` is a point in mm, in the drawing's own coordinates until `on_page` brings it to the
    output page, which may have grown; `line` is the line in the drawing's file.
    """

    code: str
    severity: Severity
    message: str
    remedy: str = ""
    elements: tuple[str, ...] = ()
    layer: str | None = None
    line: int | None = None
    spot: tuple[float, float] | None = None


def stops(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that forbid writing."""
    return tuple(finding for finding in findings if finding.severity is Severity.STOP)


def on_page(findings: Iterable[Finding], left: float, top: float) -> tuple[Finding, ...]:
    """The findings with their spots counted from the corner of the output page, to 1 µm."""
    return tuple(
        f
        if f.spot is None
        else replace(f, spot=(round(f.spot[0] - left, 3), round(f.spot[1] - top, 3)))
        for f in findings
    )


def stop(code: str, message: str, remedy: str, *, elements: Iterable[str] = ()) -> Finding:
    """A finding that forbids writing."""
    return _finding(Severity.STOP, code, message, remedy, elements)


def warn(code: str, message: str, remedy: str, *, elements: Iterable[str] = ()) -> Finding:
    """A finding that a person should act on; `--strict` turns it into a stop."""
    return _finding(Severity.WARN, code, message, remedy, elements)


def note(code: str, message: str, remedy: str = "", *, elements: Iterable[str] = ()) -> Finding:
    """A finding that informs."""
    return _finding(Severity.NOTE, code, message, remedy, elements)


def _finding(
    severity: Severity, code: str, message: str, remedy: str, elements: Iterable[str]
) -> Finding:
    return Finding(
        code=code, severity=severity, message=message, remedy=remedy, elements=tuple(elements)
    )
