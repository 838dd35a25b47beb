"""What the reader has to say, gathered while it goes and told once per kind."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from preprocess.findings import Finding, Severity
from preprocess.read.messages.stops_and_warnings import REMARK_TEXTS

if TYPE_CHECKING:
    from collections.abc import Iterable

_SHOWN = 8
"""A message names this many elements; the finding holds them all."""


class LocatedElement(Protocol):
    """An element as messages name it: its name, its line, the label of its group."""

    @property
    def name(self) -> str:
        """Id or path of positions."""

    @property
    def line(self) -> int | None:
        """Line in the file."""

    @property
    def label(self) -> str | None:
        """Label or id of the nearest group."""


@dataclass(frozen=True, slots=True)
class Remark:
    """One element about which something is to be said; `detail` goes into the message.

    `label` is that of the layer of the drawing in which it lies.
    """

    kind: str
    element: str
    line: int | None = None
    detail: str = ""
    label: str | None = None


@dataclass(slots=True)
class Remarks:
    """A notebook that is only ever written to; `findings` reads it out.

    One run of the reader owns one of these; each element is noted once per kind.
    """

    noted: dict[Remark, None] = field(default_factory=dict)

    def add(
        self,
        kind: str,
        element: str,
        line: int | None = None,
        detail: str = "",
        label: str | None = None,
    ) -> None:
        """Note one element under a kind of `wording.KINDS`."""
        self.noted[Remark(kind, element, line, detail, label)] = None

    def on(self, kind: str, element: LocatedElement, detail: str = "") -> None:
        """Note something that is painted, with its place."""
        self.add(kind, element.name, element.line, detail, element.label)

    def findings(self) -> tuple[Finding, ...]:
        """One finding for each kind, in the order in which the kinds are listed."""
        by_kind: dict[str, list[Remark]] = {}
        for remark in self.noted:
            by_kind.setdefault(remark.kind, []).append(remark)
        return tuple(_finding(kind, by_kind[kind]) for kind in REMARK_TEXTS if kind in by_kind)


def _finding(kind: str, remarks: list[Remark]) -> Finding:
    words = REMARK_TEXTS[kind]
    lines = [remark.line for remark in remarks if remark.line is not None]
    elements = tuple(dict.fromkeys(remark.element for remark in remarks))
    labels = {remark.label for remark in remarks}
    what = words.one if len(elements) == 1 else words.many.format(count=len(elements))
    return Finding(
        code=kind,
        severity=Severity(words.severity),
        message=f"{what}: {_listed(remarks)}",
        remedy=words.remedy,
        elements=elements,
        layer=labels.pop() if len(labels) == 1 else None,
        line=min(lines, default=None),
    )


def _listed(remarks: Iterable[Remark]) -> str:
    names = list(dict.fromkeys(_named(remark) for remark in remarks))
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more


def _named(remark: Remark) -> str:
    places = [f"line {remark.line}"] if remark.line is not None else []
    places += [f"in {remark.label}"] if remark.label not in {None, remark.element} else []
    inside = "; ".join(part for part in (", ".join(places), remark.detail) if part)
    return f"{remark.element} ({inside})" if inside else remark.element
