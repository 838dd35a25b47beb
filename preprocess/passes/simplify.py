"""simplify: removes points within a tolerance, and never lets outlines cross anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, MERGED, POWERED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selection_test
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.lines.simplify import Simplifier
from preprocess.model.artwork.output import output_layers
from preprocess.model.declared import Doc
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.model.artwork.artwork import Artwork, Exchange
    from preprocess.model.bench.bench import Bench

_STEPS = 12
"""Tolerances that are tried between the wanted one and the most, each by the same factor apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Simplify(Params):
    """Leave out points that the outline does not need, within a tolerance.

    Old and new outline lie nowhere farther apart than the tolerance. Outlines never cross
    themselves or one another anew, nothing vanishes, and shared borders stay shared. Bars and
    shapes that are not chosen stay. With `up_to` the tolerance rises, at most to this, until the
    drawing has no more points than the machine's max_points; a note gives the tolerance.
    """

    name: ClassVar = "simplify"
    contract: ClassVar = Contract(
        keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED, BARRED, POWERED})
    )

    within: Annotated[Length, Gt(0), Doc("how far an outline may move")] = 0.005
    up_to: Annotated[
        Length | None, Gt(0), Doc("how far it may move to keep under the machine's max_points")
    ] = None

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Thin out all outlines and lines together.

        Raises:
            Refusal: up_to is less than within, or max_points of the machine is missing.
        """
        most = self._most(bench)
        wanted = selection_test(artwork, self)
        mine = [shape for shape in artwork.shapes if wanted(shape)]
        others = [shape.geometry for shape in artwork.shapes if not wanted(shape)]
        thinning = Simplifier([shape.geometry for shape in mine], others)

        def thinned(tolerance: float) -> tuple[list[Exchange], float]:
            thin = thinning.to(tolerance)
            found = zip(mine, thin.shapes, strict=True)
            return [
                (s, (replace(s, geometry=g),)) for s, g in found if g is not s.geometry
            ], thin.moved

        tolerance = self._tolerance(lambda t: points(artwork.exchanged(thinned(t)[0])), most)
        changed, moved = thinned(tolerance)
        result = artwork.exchanged(changed)
        findings = []
        if changed:
            message = (
                f"{points(artwork)} points became {points(result)} within a tolerance of "
                f"{digits(tolerance, 4)} mm; no outline moved by more than {moved:.4f} mm"
            )
            findings.append(note("points-left-out", message))
        if most is not None and points(result) > most:
            findings.append(self._still_too_many(points(result), most))
        return Outcome(
            artwork=result,
            findings=tuple(findings),
            changes=entries_of(changed, "points left out"),
        )

    def _most(self, bench: Bench) -> int | None:
        most = bench.machine_or_default.max_points
        if self.up_to is not None and self.up_to < self.within:
            found = f"up_to is {digits(self.up_to)} mm, less than within, {digits(self.within)} mm"
            raise Refusal(found, "leave up_to out, or make it more than within")
        if self.up_to is not None and most is None:
            found = "up_to is given, but the machine's max_points is missing"
            raise Refusal(found, "give the machine its max_points, or leave up_to out")
        return most

    def _tolerance(self, count: Callable[[float], int], most: int | None) -> float:
        """The wanted tolerance, or the least of some larger ones that leaves few enough points."""
        if most is None or self.up_to is None:
            return self.within
        factor = (self.up_to / self.within) ** (1 / _STEPS)
        low, high = 0, _STEPS
        while low < high:
            middle = (low + high) // 2
            if count(self.within * factor**middle) <= most:
                high = middle
            else:
                low = middle + 1
        return self.within * factor**low

    def _still_too_many(self, left: int, most: int) -> Finding:
        message = f"{left} points are left, but the laser software takes {most}"
        remedy = (
            "give simplify an up_to, so that it may raise its tolerance"
            if self.up_to is None
            else "raise up_to, or split the design over several files"
        )
        return warn("points-still-too-many", message, remedy)


def points(artwork: Artwork) -> int:
    """Number of points of the written outlines and lines."""
    marked = [shape for output in output_layers(artwork) for shape in output.shapes]
    return sum(int(shapely.get_num_coordinates(shape.geometry)) for shape in marked)
