"""How a kind of remark of the reader reads."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RemarkText:
    """How one kind of remark reads, for one element and for many, and what to do about it."""

    severity: str
    one: str
    many: str
    remedy: str
