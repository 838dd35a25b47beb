"""drop-specks: leaves out areas that are too small to be seen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar

from annotated_types import Gt

from preprocess.api import (
    FILLED,
    MERGED,
    SEPARATE,
    Artwork,
    Bench,
    Change,
    Contract,
    Doc,
    Length,
    Outcome,
    Params,
    Shape,
    amount_of,
    selection_test,
    warn,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropSpecks(Params):
    """Leave out engraved shapes that fit into a small square."""

    name: ClassVar = "drop-specks"
    api: ClassVar = 1
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE}))

    smaller_than: Annotated[Length, Gt(0), Doc("side of the square")]

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Take specks out of the artwork, and name each of them."""
        wanted = selection_test(artwork, self)
        specks = [s for s in artwork.shapes if wanted(s) and self._is_speck(s)]
        message = f"left out {len(specks)} shapes below {self.smaller_than:g} mm"
        remedy = "choose a smaller size, or thicken them in the drawing"
        return Outcome(
            artwork=replace(artwork, shapes=tuple(s for s in artwork.shapes if s not in specks)),
            findings=(warn("specks-left-out", message, remedy, elements=[s.id for s in specks]),)
            if specks
            else (),
            changes=tuple(
                Change(layer=s.layer, removed=amount_of(s), why="specks left out") for s in specks
            ),
        )

    def _is_speck(self, shape: Shape) -> bool:
        left, top, right, bottom = shape.geometry.bounds
        return shape.is_engraved_area and max(right - left, bottom - top) < self.smaller_than
