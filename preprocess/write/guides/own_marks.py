"""Marks of our own, added after all passes: check squares, then anchors around everything."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.engine.ledger import Change, amount_of
from preprocess.write.guides.anchors import with_anchors
from preprocess.write.guides.check_square import check_square, with_squares

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.settings import Operation, Settings
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.anchors import Anchors
    from preprocess.model.bench.machine import Machine

LedgerEntry = tuple[str, tuple[Change, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnMarks:
    """Marks that are wanted; scored anchors take the recipe's settings."""

    squares: bool
    anchors: Anchors | None
    settings: Mapping[Operation, Settings]


def with_own_marks(
    artwork: Artwork, wanted: OwnMarks, machine: Machine
) -> tuple[Artwork, list[Finding], list[LedgerEntry]]:
    """The artwork with our marks, what to say of them, and what each adds to the ledger."""
    found: list[Finding] = []
    ledger: list[LedgerEntry] = []
    if wanted.squares:
        artwork, told = with_squares(artwork)
        found.extend(told)
        shape = check_square(artwork)
        ledger.append(("check_square", _changes([shape] if shape else [], "a guide to measure")))
    if wanted.anchors is not None:
        held = with_anchors(artwork, wanted.anchors, machine, wanted.settings)
        artwork = held.artwork
        found.extend(held.findings)
        ledger.append(("anchors", _changes(held.added, "marks that hold the file's box")))
    return artwork, found, ledger


def _changes(shapes: Iterable[Shape], why: str) -> tuple[Change, ...]:
    return tuple(Change(layer=s.layer, added=amount_of(s), why=why) for s in shapes)
