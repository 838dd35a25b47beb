"""equalize-width: sacrificial bars beside the part make all rows equally wide."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from preprocess.engine.contract import Contract, Outcome
from preprocess.engine.facts import BARRED, FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selection_test
from preprocess.errors import Refusal
from preprocess.findings import note
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.return_times import expect_speed
from preprocess.marking.machine.machine_field import centre_of_parts, field_box
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes._shared.expectations import expect_pitch
from preprocess.passes.equalize_width.apply import BarLayout, barless, expect_first, with_bars
from preprocess.passes.equalize_width.bar_wish import BarWish
from preprocess.passes.equalize_width.clearance import Obstacles
from preprocess.passes.equalize_width.findings import bar_findings
from preprocess.passes.equalize_width.lay_out import BarRules, GroupBars, all_bars, lay_out_bars
from preprocess.passes.equalize_width.page import grown_page, growth_unit
from preprocess.passes.equalize_width.room import PartExtent, expect_room, part_extent
from preprocess.passes.equalize_width.search import predicted_evenness, search_bars
from preprocess.passes.equalize_width.search_findings import (
    bars_suffice,
    even_already,
    out_of_reach,
)
from preprocess.passes.equalize_width.telecentric_error import telecentric_error_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.heat.effort import Effort
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine

_ROUNDING = 1.5
"""Steps of the written grid that are added to the clearance, so that rounding cannot eat it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualizeWidth(BarWish):
    """Put sacrificial bars on both sides of the part, so that all rows are equally wide.

    Every lit row of a raster group gets one width, at any scan angle. The beam sweeps the bars with
    the artwork, so they mark whatever lies there: put a matt sacrificial card, never bare or
    polished metal. Groups that share rows get their bars side by side. Wider rows stay as they are.
    `narrower_than` limits bars to narrow rows, `quicker_than` to rows with a short return time;
    given both, a row must meet both. `until` simulates the heat and finds the smallest span and the
    fewest rows that suffice. Rows where the part is wider than that span get no bars.
    """

    name: ClassVar = "equalize-width"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED, MERGED}),
        gives=frozenset({BARRED}),
        keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}),
        seals=frozenset({BARRED}),
    )

    def contract_on(self, bench: Bench) -> Contract:
        """Paths must be merged where the software sweeps each path by itself."""
        rule = bench.machine_or_default.raster_groups
        needs = {FILLED} if rule is RasterGroups.EACH_COLOUR else {FILLED, MERGED}
        return replace(self.contract, needs=frozenset(needs))

    def simulations(self) -> int:
        """Those of a search for the smallest span."""
        return 0 if self.until is None else 15

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Add the bars, and grow the page where they leave it.

        Raises:
            Refusal: no silhouette, no pitch or needed speed, or no room; the remedy gives sizes
                that fit.
        """
        wanted = selection_test(artwork, self)
        if not any(_has_rows(shape) and wanted(shape) for shape in artwork.shapes):
            message = "the selection has no engraved area, so there are no rows to equalize"
            return Outcome(artwork=artwork, findings=(note("no-rows", message),))
        _expect_parts(artwork)
        if self.until is not None:
            return self._searched(artwork, bench, 1 + self.until.evenness)
        laid = self._settled(artwork, bench)
        if not len(all_bars(laid.barred)):
            raise self._needless()
        return self._outcome(artwork, bench, laid)

    def _needless(self) -> Refusal:
        larger = [key for key in ("narrower_than", "quicker_than") if getattr(self, key)]
        what = f"a larger {' or '.join(larger)}" if larger else "a larger span"
        return Refusal("no row needs a bar", f"give {what}, or leave out equalize-width")

    def _outcome(self, artwork: Artwork, bench: Bench, laid: BarLayout) -> Outcome:
        expect_first(artwork, laid.barred)
        after = with_bars(artwork, laid)
        machine = bench.machine_or_default
        obstacles = _obstacles(after, bench, self.clearance)
        obstacles.expect_clear(laid.barred)
        obstacles.expect_kept_off(laid.barred)
        expect_room(laid.barred, union(artwork.parts), field_box(after, machine), self)
        return Outcome(
            artwork=after,
            findings=bar_findings(artwork.page, after, laid, machine),
            changes=_changes(laid.barred),
        )

    def _searched(self, artwork: Artwork, bench: Bench, goal: float) -> Outcome:
        """The fewest bars that make rows even; none if rows are even already."""
        groups = self._searchable(artwork, bench)

        def lay(span: float, below: float | None) -> BarLayout:
            one = replace(self, span=span, narrower_than=below)
            return one._settled(artwork, bench)  # noqa: SLF001 - another of this class

        def measure(laid: BarLayout, effort: Effort) -> EvennessFigures:
            return predicted_evenness(with_bars(artwork, laid), bench, groups, effort)

        plain = predicted_evenness(artwork, bench, groups)
        if plain.hot <= goal:
            return Outcome(artwork=barless(artwork), findings=(even_already(plain, goal),))
        sides = self._sides(artwork, groups, bench).values()
        full = max(side.span(self.bar) for side in sides)
        found = search_bars(full, lay, measure, plain, goal)
        if found.least is None:
            raise out_of_reach(found, goal, groups)
        out = self._outcome(artwork, bench, found.least.laid)
        return replace(out, findings=(bars_suffice(found, found.least, goal, bench), *out.findings))

    def _searchable(self, artwork: Artwork, bench: Bench) -> list[RasterGroup]:
        given = [k for k in ("span", "narrower_than", "quicker_than") if getattr(self, k)]
        if given:
            raise Refusal(
                f"until searches for span and rows, but the step also gives {' and '.join(given)}",
                f"take out until, or {' and '.join(given)}",
            )
        groups = self._groups(artwork, bench.machine_or_default)
        for group in groups:
            expect_speed(group)
        return groups

    def _settled(self, artwork: Artwork, bench: Bench) -> BarLayout:
        """Bars and page; a page that grows may move rows and field, which hang on its corner."""
        machine = bench.machine_or_default
        for _ in range(4):
            groups = self._groups(artwork, machine)
            sides = self._sides(artwork, groups, bench)
            barred = self._bars(artwork, groups, sides, bench)
            page = grown_page(artwork.page, barred, growth_unit(groups, machine))
            if page == artwork.page:
                break
            artwork = replace(artwork, page=page)
        return BarLayout(barred, sides, page)

    def _groups(self, artwork: Artwork, machine: Machine) -> list[RasterGroup]:
        wanted = selection_test(artwork, self)
        planned = plan_of(artwork, machine)
        groups = [step for step in planned.steps if isinstance(step, RasterGroup)]
        mine = [group for group in groups if any(wanted(shape) for shape in group.shapes)]
        for group in mine:
            if not all(wanted(shape) for shape in group.shapes):
                raise Refusal(
                    f"the software sweeps all of {group.output.id} together, but the step chooses "
                    "only some of its shapes",
                    "choose all shapes of the layer, or give the others a layer of their own",
                )
        expect_pitch(artwork, [s for s in artwork.shapes if s.is_engraved_area and wanted(s)])
        return mine

    def _sides(
        self, artwork: Artwork, groups: Sequence[RasterGroup], bench: Bench
    ) -> dict[float, PartExtent]:
        obstacles = _obstacles(artwork, bench, self._away(artwork))
        return {group.angle: part_extent(obstacles, group.angle) for group in groups}

    def _away(self, artwork: Artwork) -> float:
        return self.clearance + _ROUNDING * 10.0**-artwork.drawing.decimals

    def _bars(
        self,
        artwork: Artwork,
        groups: Sequence[RasterGroup],
        sides: Mapping[float, PartExtent],
        bench: Bench,
    ) -> tuple[GroupBars, ...]:
        innermost = {a: (side.middle, self._span(side)) for a, side in sides.items()}
        obstacles = _obstacles(artwork, bench, self._away(artwork))
        clear = None if self.until is None else obstacles.clear
        return lay_out_bars(groups, innermost, BarRules(self, bench.machine_or_default, clear))

    def _span(self, side: PartExtent) -> float:
        """The span given; a search stops at the span that clears the whole part."""
        full = side.span(self.bar)
        return full if self.span is None else min(self.span, full) if self.until else self.span


def _has_rows(shape: Shape) -> bool:
    return shape.is_engraved_area and not shape.geometry.is_empty


def _expect_parts(artwork: Artwork) -> None:
    if not artwork.parts:
        raise Refusal(
            "the part's silhouette is missing, so bars cannot be placed",
            'add it to the recipe: part: {outline: "#id-of-the-outline"}, or its [width, height]',
        )


def _obstacles(artwork: Artwork, bench: Bench, clearance: float) -> Obstacles:
    """Obstacles of bars; the optical axis meets the page in the middle of the field."""
    field = field_box(artwork, bench.machine_or_default)
    axis = centre_of_parts(artwork) if field is None else (field.centroid.x, field.centroid.y)
    return Obstacles(
        parts=artwork.parts,
        keep_off=artwork.keep_off,
        clearance=clearance,
        slant=telecentric_error_of(bench, axis),
    )


def _changes(barred: Sequence[GroupBars]) -> tuple[Change, ...]:
    return tuple(
        Change(
            layer=entry.group.output.layer,
            added=Amount(area=float(entry.bars.area)),
            why=f"bars of {entry.group.output.id}",
        )
        for entry in barred
    )
