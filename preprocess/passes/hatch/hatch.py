"""hatch: replaces engraved areas by rows to score, in a chosen order."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selected_areas
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.rows.hatching import Hatching, hatch_areas, inset_union
from preprocess.marking.job.plan import USUAL_SETTINGS, row_grid
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import engraving_pitch, expect_no_bars
from preprocess.passes.hatch.findings import hatch_findings
from preprocess.units import Angle, Length, Pitch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import FirstRow, Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch(Params):
    """Replace engraved areas by rows of our own, as lines to score.

    The beam then traces the rows in the order of the file, whatever the laser software does with
    areas. Each shape stays a path of its own, and its lines stand in marking order. All shapes of
    a layer share one grid of rows, so that zones side by side neither double nor miss a row.
    Power and speed are those of scoring. Bars and solved powers are lost: hatch instead of
    giving bars, not after it.
    """

    name: ClassVar = "hatch"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED})
    )

    pitch: Annotated[
        Pitch | None, Gt(0), Doc("distance between rows; without it that of the layer")
    ] = None
    angle: Annotated[
        Angle | None,
        Doc("direction of the rows, counter-clockwise from +x as seen; without it the layer's"),
    ] = None
    direction: Annotated[
        Direction | None, Doc("rows one-way or two-way; without it as the layer has them")
    ] = None
    inset: Annotated[
        Length | None,
        Ge(0),
        Doc("how far rows keep inside the drawn edge; without it half the machine's spot"),
    ] = None
    every: Annotated[
        int,
        Ge(1),
        Doc("4 marks every fourth row first, then the rest in three more rounds; 1 in order"),
    ] = 1
    run_out: Annotated[
        Length, Ge(0), Doc("how far each row goes on beyond both its ends, marking all the way")
    ] = 0.0
    cross: Annotated[bool, Doc("mark a second set of rows across the first, on top of it")] = False

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Replace each chosen engraved area by its rows.

        Raises:
            Refusal: a layer has no pitch, or bars stand beside an area.
        """
        machine = bench.machine_or_default
        by_layer: dict[str, list[Shape]] = defaultdict(list)
        for shape in selected_areas(artwork, self):
            expect_no_bars(shape, "take out equalize-width, or choose other shapes to hatch")
            by_layer[shape.layer].append(shape)
        pairs = [
            (shape, replace(shape, operation=Operation.SCORE, geometry=lines))
            for layer, shapes in by_layer.items()
            for shape, lines in zip(
                shapes, self._rows(artwork, layer, shapes, machine), strict=True
            )
        ]
        exchanges = [(old, () if new.geometry.is_empty else (new,)) for old, new in pairs]
        return Outcome(
            artwork=artwork.exchanged(exchanges),
            findings=tuple(
                hatch_findings(artwork, pairs, inset=self._inset(machine), run_out=self.run_out)
            ),
            changes=entries_of(exchanges, "areas became rows"),
        )

    def _inset(self, machine: Machine) -> float | None:
        """Distance inward, mm; None if unknown."""
        if self.inset is not None:
            return self.inset
        return None if machine.spot is None else machine.spot / 2

    def _rows(
        self, artwork: Artwork, layer: str, shapes: Sequence[Shape], machine: Machine
    ) -> list[MultiLineString]:
        """The lines of each shape of a layer, the second set of a cross after the first."""
        areas = inset_union([s.geometry for s in shapes], self._inset(machine) or 0.0)
        rule = machine.first_row
        sets = [hatch_areas(areas, one) for one in self._sets(artwork, layer, as_area(areas), rule)]
        return [as_lines([of_set[i] for of_set in sets]) for i in range(len(areas))]

    def _sets(
        self, artwork: Artwork, layer: str, area: MultiPolygon, rule: FirstRow
    ) -> list[Hatching]:
        if area.is_empty:
            return []
        engraving = artwork.layer(layer).of(Operation.ENGRAVE).over(USUAL_SETTINGS)
        pitch = self.pitch or engraving_pitch(artwork, layer, "give hatch a pitch")
        along = (engraving.angle or 0.0) if self.angle is None else self.angle
        found = []
        for angle in (along, along + 90.0) if self.cross else (along,):
            first, count = row_grid(area, angle, pitch, first_row=rule, page=artwork.page)
            found.append(
                Hatching(
                    angle=angle,
                    first=first,
                    pitch=pitch,
                    count=count,
                    every=self.every,
                    two_way=(self.direction or engraving.direction) is Direction.TWO_WAY,
                    run_out=self.run_out,
                )
            )
        return found
