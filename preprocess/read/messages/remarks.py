"""Remarks on elements, collected during reading and reported once per kind."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from preprocess.findings import Finding, listed
from preprocess.read.messages.remark_texts import REMARK_TEXTS

_BY_DETAIL = frozenset({"font-missing"})
"""Kinds whose elements are told together where their details agree."""


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
    """Collected remarks; `findings` reports them.

    One run of the reader owns one of these; each element is noted once per kind.
    """

    noted: dict[Remark, None] = field(default_factory=dict)

    def add(self, remark: Remark) -> None:
        """Note one element under a kind of `REMARK_TEXTS`."""
        self.noted[remark] = None

    def on(self, kind: str, element: LocatedElement, detail: str = "") -> None:
        """Note an element with its line and label."""
        self.add(Remark(kind, element.name, element.line, detail, element.label))

    def findings(self) -> tuple[Finding, ...]:
        """One finding for each kind, in the order in which the kinds are listed."""
        by_kind: dict[str, list[Remark]] = {}
        for remark in self.noted:
            by_kind.setdefault(remark.kind, []).append(remark)
        return tuple(_finding(kind, by_kind[kind]) for kind in REMARK_TEXTS if kind in by_kind)


def _finding(kind: str, remarks: list[Remark]) -> Finding:
    text = REMARK_TEXTS[kind]
    lines = [remark.line for remark in remarks if remark.line is not None]
    elements = tuple(dict.fromkeys(remark.element for remark in remarks))
    labels = {remark.label for remark in remarks}
    names = _by_detail(remarks) if kind in _BY_DETAIL else [_named(one) for one in remarks]
    return Finding(
        code=kind,
        severity=text.severity,
        message=f"{text.message(len(elements))}: {listed(list(dict.fromkeys(names)))}",
        remedy=text.remedy,
        elements=elements,
        layer=labels.pop() if len(labels) == 1 else None,
        line=min(lines, default=None),
    )


def _named(remark: Remark) -> str:
    return placed_name(remark.element, remark.line, remark.label, remark.detail)


def _by_detail(remarks: list[Remark]) -> list[str]:
    """Each detail once, with the first of its elements and the number of others."""
    groups: dict[str, list[Remark]] = {}
    for one in remarks:
        groups.setdefault(one.detail, []).append(one)
    return [
        _named(same[0]) + (f" and {len(same) - 1} more of this font" if same[1:] else "")
        for same in groups.values()
    ]


def placed_name(name: str, line: int | None, label: str | None, detail: str = "") -> str:
    """An element as messages name it: with its line, its layer in the drawing, and a detail."""
    places = [f"line {line}"] if line is not None else []
    places += [f"in {label}"] if label not in {None, name} else []
    inside = "; ".join(part for part in (", ".join(places), detail) if part)
    return f"{name} ({inside})" if inside else name
