"""simplify: fewer points, within a tolerance that is told, and never across one another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, MERGED, POWERED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import exchanged
from preprocess.engine.selection import chosen
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.lines.simplify import Simplifier
from preprocess.model.artwork.output import output_layers
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.geometry.lines.simplify import Simplified
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_STEPS = 12
"""Tolerances that are tried between the wanted one and the most, each by the same factor apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Simplify(Params):
    """Leave out points that the outline does not need, within a tolerance.

    No outline lies farther than the tolerance from what it was, nor what it was from it. Outlines
    never cross themselves or one another anew, nothing vanishes, and neighbours that share a border
    share it still; shapes that are not chosen keep theirs as it is. Bars stay as they are. With
    `up_to` the tolerance is raised, but no farther, until the drawing has no more points than the
    machine's max_points; it is told how far.
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
            Refusal: up_to is less than within, or nothing says how many points there may be.
        """
        most = self._most(bench)
        wanted = chosen(artwork, self)
        mine = [number for number, shape in enumerate(artwork.shapes) if wanted(shape)]
        others = [shape.geometry for shape in artwork.shapes if not wanted(shape)]
        thinning = Simplifier([artwork.shapes[number].geometry for number in mine], others)

        def after(tolerance: float) -> tuple[Artwork, Simplified]:
            thin = thinning.to(tolerance)
            return _with(artwork, dict(zip(mine, thin.shapes, strict=True))), thin

        tolerance = self._tolerance(lambda t: points(after(t)[0]), most)
        result, thin = after(tolerance)
        changed = [
            (old, new)
            for old, new in zip(artwork.shapes, result.shapes, strict=True)
            if old is not new
        ]
        findings = [*_told(artwork, result, tolerance, thin.moved)] if changed else []
        if most is not None and points(result) > most:
            findings.append(self._still_too_many(points(result), most))
        return Outcome(
            artwork=result,
            findings=tuple(findings),
            changes=exchanged((o for o, _ in changed), (n for _, n in changed), "points left out"),
        )

    def _most(self, bench: Bench) -> int | None:
        most = bench.machine_or_default.max_points
        if self.up_to is not None and self.up_to < self.within:
            found = f"up_to is {self.up_to:g} mm, less than within, {self.within:g} mm"
            raise Refusal(found, "leave up_to out, or make it more than within")
        if self.up_to is not None and most is None:
            found = "up_to is given, but nothing says how many points there may be"
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
        message = f"{left} points are left, but the software takes {most}"
        remedy = (
            "give simplify an up_to, so that it may raise its tolerance"
            if self.up_to is None
            else "raise up_to, or split the design over several files"
        )
        return warn("points-still-too-many", message, remedy)


def points(artwork: Artwork) -> int:
    """How many points the written outlines and lines have."""
    marked = [shape for output in output_layers(artwork) for shape in output.shapes]
    return sum(int(shapely.get_num_coordinates(shape.geometry)) for shape in marked)


def _with(artwork: Artwork, geometries: dict[int, shapely.Geometry]) -> Artwork:
    shapes: Sequence[Shape] = [
        shape
        if geometries.get(number, shape.geometry) is shape.geometry
        else replace(shape, geometry=geometries[number])
        for number, shape in enumerate(artwork.shapes)
    ]
    return replace(artwork, shapes=tuple(shapes))


def _told(before: Artwork, after: Artwork, tolerance: float, moved: float) -> list[Finding]:
    message = (
        f"{points(before)} points became {points(after)} within a tolerance of {tolerance:.4g} mm; "
        f"no outline moved by more than {moved:.4f} mm"
    )
    return [note("points-left-out", message)]
