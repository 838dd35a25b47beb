"""How much detail the block keeps: as much as fits, and told in sentences where it is less."""

from __future__ import annotations

from dataclasses import dataclass, replace

from preprocess.units import digits

_OUTLINES, _CELLS, _PIECES = 0.01, 250_000, 0.05
"""Finest outlines (mm), most cells of the index, and first length for coarser rows (mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptDetail:
    """Outlines to so many mm, so many cells of the index a side, pieces of rows of so many mm.

    `within` 0 keeps all pieces. Of steps that are swept or traced, one of `every` is kept.
    """

    outlines: float = _OUTLINES
    cells: int = _CELLS
    within: float = 0.0
    every: int = 1

    def less(self, kind: str) -> KeptDetail:
        """The next one with less of a kind: outlines, index, or beam."""
        if kind == "outlines":
            return replace(self, outlines=2 * self.outlines)
        if kind == "index":
            return replace(self, cells=self.cells // 2)
        if not self.within:
            return replace(self, within=_PIECES)
        if self.within < 16 * _PIECES:
            return replace(self, within=2 * self.within)
        return replace(self, every=2 * self.every)

    @property
    def sentences(self) -> list[str]:
        """What a person should know of what was left out."""
        found = []
        if self.outlines > _OUTLINES:
            found.append(f"outlines are drawn to {digits(self.outlines, 2)} mm")
        if self.cells < _CELLS:
            found.append("the index is drawn in larger cells, each as hot as the hottest in it")
        if self.within:
            found.append(f"pieces of rows that begin within {digits(self.within, 2)} mm are one")
        if self.every > 1:
            found.append(
                f"of all that is marked one after another, one of {self.every} is played back, "
                "without the warmth of those between"
            )
        return found
