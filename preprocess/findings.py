"""Findings: what a person is told, as data. Nothing here prints."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypedDict, TypeVar, Unpack

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

_T = TypeVar("_T")

_TOLD_APART = 12


class Severity(StrEnum):
    """Weight of a finding: a stop writes nothing, a warning does, a note informs."""

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


def halting(findings: Iterable[Finding], *, strict: bool) -> tuple[Finding, ...]:
    """The findings that forbid writing; to the strict, warnings are among them."""
    if not strict:
        return stops(findings)
    return tuple(finding for finding in findings if finding.severity is not Severity.NOTE)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops, then warnings, then notes, otherwise as found; the same sentence is said once."""
    rank = list(Severity)
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: rank.index(finding.severity)))


def on_page(findings: Iterable[Finding], left: float, top: float) -> tuple[Finding, ...]:
    """The findings with their spots counted from the corner of the output page, to 1 µm."""
    return tuple(
        f
        if f.spot is None
        else replace(f, spot=(round(f.spot[0] - left, 3), round(f.spot[1] - top, 3)))
        for f in findings
    )


class Where(TypedDict, total=False):
    """Elements, layer and spot of a finding."""

    elements: Iterable[str]
    layer: str | None
    spot: tuple[float, float] | None


def stop(code: str, message: str, remedy: str, **where: Unpack[Where]) -> Finding:
    """A finding that forbids writing."""
    return replace(note(code, message, remedy, **where), severity=Severity.STOP)


def warn(code: str, message: str, remedy: str, **where: Unpack[Where]) -> Finding:
    """A finding that a person should act on; `--strict` turns it into a stop."""
    return replace(note(code, message, remedy, **where), severity=Severity.WARN)


def note(
    code: str,
    message: str,
    remedy: str = "",
    *,
    elements: Iterable[str] = (),
    layer: str | None = None,
    spot: tuple[float, float] | None = None,
) -> Finding:
    """A finding that informs."""
    return Finding(
        code=code,
        severity=Severity.NOTE,
        message=message,
        remedy=remedy,
        elements=tuple(elements),
        layer=layer,
        spot=spot,
    )


def counted(number: int, noun: str, plural: str = "") -> str:
    """A number and its noun: "1 shape", "3 shapes", "2 notches"."""
    ending = "es" if noun.endswith(("ch", "sh", "s", "x")) else "s"
    return f"{number} {noun if number == 1 else plural or noun + ending}"


def listed(names: Sequence[str], most: int = 8) -> str:
    """Names in a sentence: the first few, and how many more there are."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def one_by_one(places: Sequence[_T]) -> list[Sequence[_T]]:
    """Places for one finding each; all in one finding where there are more than twelve."""
    return [[place] for place in places] if len(places) <= _TOLD_APART else [places]
