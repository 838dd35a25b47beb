"""order-shapes: orders separate engraved shapes for coolness or for short travel."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import numpy as np
import shapely
from annotated_types import Ge, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, MERGED, POWERED, SEPARATE, ZONED
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, note
from preprocess.geometry.rows.visit_order import (
    path_length,
    recent_distances,
    short_path_order,
    spread_order,
    visit_spacing,
    weighted_order,
)
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.heat_findings import coarser_words
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.declared import Doc
from preprocess.passes._shared.part_turns import bodies_of, in_turn, least_rest
from preprocess.passes._shared.sweep_effect import sweep_note
from preprocess.units import Share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork, Exchange
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench


class OrderBy(StrEnum):
    """Aim of the order."""

    COOLNESS = "coolness"
    TRAVEL = "travel"
    MIX = "mix"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderShapes(Params):
    """Put the separate engraved shapes of each layer in a better order; no shape is changed.

    For coolness each shape lies far from the five before it, so that the plastic can cool: the
    beam takes every s-th shape along a curve through all of them, round and round. For travel it
    goes on to a near shape. A mix weighs both. Distances are between the middles of shapes. Shapes
    change places within their level only, and keep their order where no better one is found. On a
    tray, coolness takes the parts in turn, shape by shape: a part warms itself only, and rests
    while the others are marked.
    """

    name: ClassVar = "order-shapes"
    contract: ClassVar = Contract(
        needs=frozenset({SEPARATE}),
        keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED, BARRED, POWERED}),
    )

    by: Annotated[
        OrderBy,
        Doc("coolness: far from the shapes just marked; travel: a short way; mix: some of both"),
    ] = OrderBy.COOLNESS
    weight: Annotated[
        Share, Ge(0), Le(1), Doc("of a mix: how much coolness counts; the rest is for travel")
    ] = 0.5
    repair: Annotated[
        bool, Doc("for coolness: swap shapes that still follow a near one too soon")
    ] = True

    def simulations(self) -> int:
        """Both orders, to be compared."""
        return 2

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Order the chosen engraved areas of each layer and level among themselves."""
        groups: dict[tuple[str, int | None], list[Shape]] = defaultdict(list)
        for shape in selected_areas(artwork, self):
            groups[shape.layer, shape.level].append(shape)
        exchanges: list[Exchange] = []
        told = []
        for (layer, level), mine in groups.items():
            middles = _middles(mine)
            bodies = bodies_of(mine, artwork.parts)
            if self.by is OrderBy.COOLNESS and len(set(bodies)) > 1:
                order = self._in_turn(mine, middles, bodies)
                told.append(_told_rests(_name(layer, level), bodies, order))
                exchanges += [(old, (mine[i],)) for old, i in zip(mine, order, strict=True)]
                continue
            order = self._order(mine, middles)
            exchanges += [(old, (mine[i],)) for old, i in zip(mine, order, strict=True)]
            if len(mine) > 1:
                told.append(self._told(_name(layer, level), middles, middles[order]))
        after = artwork.exchanged(exchanges)
        return Outcome(
            artwork=after,
            findings=(*told, *_time(artwork, after, bench), *sweep_note(self.name, bench)),
        )

    def _in_turn(
        self, shapes: Sequence[Shape], middles: Floats, bodies: Sequence[int]
    ) -> list[int]:
        """One shape of each part after the other; those of a part far apart among themselves."""
        queues = []
        for body in dict.fromkeys(bodies):
            own = [i for i, one in enumerate(bodies) if one == body]
            order = self._order([shapes[i] for i in own], middles[own])
            queues.append([own[i] for i in order])
        found = in_turn(queues)
        as_drawn = list(range(len(shapes)))
        return found if least_rest(bodies, found) > least_rest(bodies, as_drawn) else as_drawn

    def _order(self, shapes: Sequence[Shape], middles: Floats) -> list[int]:
        """Numbers of the shapes in marking order; the drawing's own where nothing is better."""
        as_drawn = list(range(len(shapes)))
        if len(shapes) < 3:  # noqa: PLR2004 - two are as far apart either way
            return as_drawn
        first = sorted(as_drawn, key=lambda i: (*shapes[i].geometry.bounds, shapes[i].id))
        found = [first[i] for i in self._found(middles[first]).tolist()]
        return found if self._is_better(middles[found], middles) else as_drawn

    def _found(self, middles: Floats) -> Integers:
        if self.by is OrderBy.TRAVEL:
            return short_path_order(middles)
        if self.by is OrderBy.MIX:
            return weighted_order(middles, self.weight)
        return spread_order(middles, repair=self.repair)

    def _is_better(self, one: Floats, other: Floats) -> bool:
        """True if the first order beats the second."""
        if self.by is OrderBy.TRAVEL:
            return path_length(one) < path_length(other)
        if self.by is OrderBy.COOLNESS:
            return _cool(one) > _cool(other)
        room = max(visit_spacing(one), visit_spacing(other)) or 1.0
        way = max(path_length(one), path_length(other)) or 1.0
        gain = self.weight * (visit_spacing(one) - visit_spacing(other)) / room
        return gain > (1 - self.weight) * (path_length(one) - path_length(other)) / way

    def _told(self, name: str, before: Floats, after: Floats) -> Finding:
        if np.array_equal(before, after):
            message = f"{name}: the order of its {len(before)} shapes stays, none found is better"
            return note("order-stays", message)
        least = [float(recent_distances(way).min()) for way in (before, after)]
        most = [visit_spacing(way) for way in (before, after)]
        message = (
            f"{name}: {len(before)} shapes ordered by {self.by}: "
            f"travel {path_length(before):.0f} → {path_length(after):.0f} mm; "
            f"from the last five at least {least[0]:.2f} → {least[1]:.2f} mm, "
            f"99 % of them {most[0]:.2f} → {most[1]:.2f} mm"
        )
        return note("shapes-ordered", message)


def _name(layer: str, level: int | None) -> str:
    return layer if level is None else f"{layer}-{level}"


def _told_rests(name: str, bodies: Sequence[int], order: Sequence[int]) -> Finding:
    least = [least_rest(bodies, way) for way in (range(len(bodies)), order)]
    message = (
        f"{name}: {len(bodies)} shapes on {len(set(bodies))} parts, taken in turn: between two "
        f"shapes of one part at least {least[0]} → {least[1]} of others are marked"
    )
    if list(order) == list(range(len(bodies))):
        message = f"{name}: the order of its {len(bodies)} shapes stays: its parts rest no longer"
        return note("order-stays", message)
    return note("parts-in-turn", message)


def _middles(shapes: Sequence[Shape]) -> Floats:
    """Middle of the box of each shape, n×2."""
    boxes = shapely.bounds(np.array([shape.geometry for shape in shapes], dtype=object))
    return (boxes.reshape(-1, 2, 2).sum(axis=1)) / 2


def _cool(middles: Floats) -> tuple[float, float]:
    return visit_spacing(middles), float(recent_distances(middles).mean())


def _time(before: Artwork, after: Artwork, bench: Bench) -> tuple[Finding, ...]:
    """Predicted time and heat of both orders, where any shape moved."""
    if before.shapes == after.shapes:
        return ()
    plans = [plan_of(art, bench.machine_or_default) for art in (before, after)]
    one, other = (schedule_of(each, bench.machine_or_default) for each in plans)
    if one.untimed:
        message = f"time unknown: no speed for {', '.join(one.untimed)}"
        return (note("order-untimed", message, "give the layer a speed"),)
    assumed = f", assuming {' and '.join(one.assumed)}" if one.assumed else ""
    message = f"the job is predicted to take {one.total:.1f} → {other.total:.1f} s{assumed}"
    hot = [
        heat_index_of_plan(each, timed, art, bench, effort=Effort.BOUNDED)
        for each, timed, art in zip(plans, (one, other), (before, after), strict=True)
    ]
    return (note("order-time", message), *_index(*hot))


def _index(before: HeatIndex, after: HeatIndex) -> tuple[Finding, ...]:
    """Predicted heat index of both orders."""
    if not (before.images and after.images):
        return ()
    message = (
        f"heat index predicted in the two orders: at the hottest "
        f"{before.largest:.3f} → {after.largest:.3f}, 95 % of the area below {before.p95:.3f} → "
        f"{after.p95:.3f}, median {before.median:.3f} → {after.median:.3f}"
    )
    coarser = coarser_words(before)
    how = f"; both are computed {coarser}" if coarser else ""
    trust = f" ({before.trust})" if before.trust else ""
    return (note("order-index", message + trust + how),)
