"""tag-power: cuts areas into zones of like rows or width, each level with its own power."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from enum import StrEnum
from math import fsum
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, ZONED
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selected_areas
from preprocess.errors import Refusal
from preprocess.findings import Finding, counted, note
from preprocess.marking.job.common_grid import seam_error
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.return_times import return_times
from preprocess.marking.machine.motion import motion_of
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import expect_pitch
from preprocess.passes.tag_power.heat_bands import coolness_by_row, images_by_group
from preprocess.passes.tag_power.level_bands import ALIKE, spans_by_row
from preprocess.passes.tag_power.settled_zones import settle_zones
from preprocess.passes.tag_power.zones import compounded, zones_by_rows, zones_by_width
from preprocess.units import Share, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.arrays import Floats
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.tag_power.zones import Zones


class PowerBy(StrEnum):
    """Quantity that the power follows."""

    ROW_SPAN = "row-span"
    RETURN_TIME = "return-time"
    WIDTH = "width"
    HEAT = "heat"


_WORDS = {
    PowerBy.ROW_SPAN: ("rows", "are equally wide", "widths"),
    PowerBy.RETURN_TIME: ("rows", "return equally soon", "return times"),
    PowerBy.WIDTH: ("areas", "are equally wide", "widths"),
    PowerBy.HEAT: ("rows", "get equally hot", "predicted heat indices"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TagPower(Params):
    """Cut areas into zones by rows or by local width, and give each level its own layer.

    Level 1 is the widest, or has the longest return time, or stays coolest. Zones tile each area
    exactly: nothing is marked twice or left out. By row span, return time and heat, zones are
    bands of whole rows; by width they end where the area becomes narrow. Return times are those of
    the rows without bars. Heat is the predicted heat index at this step; by heat, crumbs join
    their neighbour, and a wide connected area stays whole unless levels even it out by more than
    the power steps where they meet.
    """

    name: ClassVar = "tag-power"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), gives=frozenset({ZONED}), keeps=frozenset({FILLED, MERGED})
    )

    by: Annotated[
        PowerBy,
        Doc(
            "row-span: how wide the swept row is; return-time: how soon the beam is back on the "
            "next row; width: how wide the area is; heat: how hot the row gets"
        ),
    ] = PowerBy.ROW_SPAN
    levels: Annotated[int, Ge(2), Le(8), Doc("how many powers there may be")] = 3
    powers: Annotated[
        tuple[Share, ...] | None,
        Doc(
            "power of each level as a share of the layer's power, the widest first; without them "
            "solve-power has to follow"
        ),
    ] = None
    min_rows: Annotated[int, Ge(1), Doc("zones of fewer rows join their neighbour")] = 4

    def simulations(self) -> int:
        """One, to tell levels by heat."""
        return int(self.by is PowerBy.HEAT)

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Replace areas by their zones.

        Raises:
            Refusal: no pitch, no speed to tell return times by, not as many powers as levels, or
                a layer has levels with other powers already.
        """
        self._expect_powers()
        mine = selected_areas(artwork, self)
        fresh = [shape for shape in mine if shape.level is None]
        expect_pitch(artwork, fresh)
        layers = list(dict.fromkeys(shape.layer for shape in fresh))
        _expect_one_set_of_levels(artwork, layers, self.powers)
        zones: dict[int, Zones] = {id(shape): [(1, shape.geometry)] for shape in fresh}
        found: list[Finding] = []
        for layer in layers:
            of_layer = [shape for shape in fresh if shape.layer == layer]
            mapped, finding = self._cut(artwork, layer, of_layer, bench)
            zones |= mapped
            found.append(finding)
        after = self._replaced(artwork, zones, layers)
        if len(fresh) < len(mine):
            message = f"{counted(len(mine) - len(fresh), 'area')} with levels already keep them"
            found.append(note("zoned-already", message))
        found += _seams(after, bench.machine_or_default, layers)
        return Outcome(artwork=after, findings=tuple(found), changes=_changes(artwork, zones))

    def _expect_powers(self) -> None:
        if self.powers is not None and len(self.powers) != self.levels:
            raise Refusal(
                f"there are {self.levels} levels but {len(self.powers)} powers",
                "give one power for each level, the widest first",
            )

    def _cut(
        self, artwork: Artwork, layer: str, fresh: Sequence[Shape], bench: Bench
    ) -> tuple[dict[int, Zones], Finding]:
        ids = {id(shape) for shape in fresh}
        machine = bench.machine_or_default
        steps = [
            (number, step)
            for number, step in enumerate(plan_of(artwork, machine).steps)
            if isinstance(step, RasterGroup) and any(id(s) in ids for s in step.shapes)
        ]
        groups = [group for _, group in steps]
        limits, cut, seams = self._zones(steps, artwork, bench)
        zones = {
            id(shape): compounded(pieces) if len(ids) == 1 else pieces
            for group, of_group in zip(groups, cut, strict=True)
            for shape, pieces in zip(group.shapes, of_group, strict=True)
            if id(shape) in ids
        }
        told = self._told(layer, limits.tolist(), zones, machine)
        return zones, replace(told, message=told.message + seams)

    def _zones(
        self, steps: Sequence[tuple[int, RasterGroup]], artwork: Artwork, bench: Bench
    ) -> tuple[Floats, list[list[Zones]], str]:
        """Limits between the levels, zones by group and shape, and what to say of seams."""
        machine, groups = bench.machine_or_default, [group for _, group in steps]
        match self.by:
            case PowerBy.WIDTH:
                return *zones_by_width(groups, self.levels, self.min_rows), ""
            case PowerBy.ROW_SPAN:
                measured = [spans_by_row(group, self.min_rows) for group in groups]
            case PowerBy.RETURN_TIME:
                measured = [return_times(group, machine, self.min_rows) for group in groups]
            case PowerBy.HEAT:
                images = images_by_group(steps, artwork, bench)
                measured = coolness_by_row(groups, images)
        rule = machine.first_row
        limits, cut = zones_by_rows(groups, measured, self.levels, self.min_rows, rule)
        if self.by is not PowerBy.HEAT or not len(limits):
            return limits, cut, ""
        spot = machine.spot or min(group.pitch for group in groups)
        settled, seams = settle_zones(groups, cut, images, self.powers, spot)
        return limits, settled, seams.text()

    def _told(
        self, layer: str, limits: list[float], zones: Mapping[int, Zones], machine: Machine
    ) -> Finding:
        what, alike, where = _WORDS[self.by]
        if not limits:
            message = f"{what} of {layer} {alike}, within {100 * (ALIKE - 1):.0f} %: one level"
            return note("one-level", message)
        areas: dict[int, float] = defaultdict(float)
        for pieces in zones.values():
            for level, area in pieces:
                areas[level] += area.area
        shown = ", ".join(f"level {level}: {areas[level]:.2f} mm²" for level in sorted(areas))
        parted = ", ".join(self._shown(limit) for limit in limits)
        if self.by is PowerBy.RETURN_TIME:
            parted += " ms"
            assumed = motion_of(machine)[1]
            shown += f"; assumed: {', '.join(assumed)}" if assumed else ""
        elif self.by is not PowerBy.HEAT:
            parted += " mm"
        return note("zones", f"{what} of {layer} are parted at {where} of {parted}; {shown}")

    def _shown(self, limit: float) -> str:
        if self.by is PowerBy.RETURN_TIME:
            return digits(1e3 * limit, 3)
        return f"{1 / limit if self.by is PowerBy.HEAT else limit:.2f}"

    def _replaced(
        self, artwork: Artwork, zones: Mapping[int, Zones], layers: Sequence[str]
    ) -> Artwork:
        return replace(
            artwork,
            shapes=tuple(
                new
                for shape in artwork.shapes
                for new in (_paths(shape, zones[id(shape)]) if id(shape) in zones else [shape])
            ),
            layers=tuple(
                replace(layer, shares=self.powers or ()) if layer.name in layers else layer
                for layer in artwork.layers
            ),
        )


def _expect_one_set_of_levels(
    artwork: Artwork, layers: Sequence[str], powers: tuple[float, ...] | None
) -> None:
    for name in layers:
        shares = artwork.layer(name).shares
        has_levels = any(shape.level is not None for shape in artwork.shapes_of(name))
        if has_levels and shares and shares != powers:
            shown = ", ".join(f"{digits(100 * share, 4)} %" for share in shares)
            raise Refusal(
                f"some areas of layer {name!r} have levels already, with powers of {shown}",
                "give the others a layer of their own under layers:, or choose none of this layer",
            )


def _paths(shape: Shape, zones: Zones) -> list[Shape]:
    if len(zones) == 1:
        return [replace(shape, level=zones[0][0])]
    return [
        replace(shape, id=f"{shape.id}-zone-{number}", geometry=area, level=level)
        for number, (level, area) in enumerate(zones, 1)
    ]


def _seams(after: Artwork, machine: Machine, layers: Sequence[str]) -> Iterator[Finding]:
    """A note where rows of levels, swept one after another, miss a common grid."""
    compounds = {name for name in layers if MERGED.holds(after, name)}
    groups = [
        step
        for step in plan_of(after, machine).steps
        if isinstance(step, RasterGroup) and step.output.layer in compounds
    ]
    error, layer = seam_error(groups)
    if error > 0:
        message = f"rows of levels of {layer} miss a common grid by up to {error:.3f} mm"
        remedy = "begin rows on the page's grid, or let bars of equalize-width bring them onto one"
        yield note("rows-off-grid", message, remedy)


def _changes(artwork: Artwork, zones: Mapping[int, Zones]) -> tuple[Change, ...]:
    """Ledger entries: out of the layer's undivided area, back in level by level."""
    amounts: dict[str, tuple[float, float]] = {}
    for shape in artwork.shapes:
        if len(zones.get(id(shape), ())) > 1:
            gone, come = amounts.get(shape.layer, (0.0, 0.0))
            cut = fsum(area.area for _, area in zones[id(shape)])
            amounts[shape.layer] = (gone + shape.geometry.area, come + cut)
    return tuple(
        Change(
            layer=layer,
            removed=Amount(area=gone),
            added=Amount(area=come),
            why="areas cut into zones",
        )
        for layer, (gone, come) in amounts.items()
    )
