"""equalize-width: sacrificial bars beside the part make all rows equally wide."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Gt, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selection_test
from preprocess.errors import Refusal
from preprocess.findings import note
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.return_times import expect_speed
from preprocess.marking.machine.machine_field import centre_of_parts, field_box
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.model.declared import Declared, Doc
from preprocess.passes._shared.expectations import expect_pitch
from preprocess.passes.equalize_width.apply import BarLayout, barless, expect_first, with_bars
from preprocess.passes.equalize_width.clearance import clearance_test, expect_clear, expect_kept_off
from preprocess.passes.equalize_width.findings import bar_findings
from preprocess.passes.equalize_width.lay_out import BarMeasures, GroupBars, all_bars, lay_out_bars
from preprocess.passes.equalize_width.page import grown_page, growth_unit
from preprocess.passes.equalize_width.room import PartExtent, RoomWish, expect_room, part_extent
from preprocess.passes.equalize_width.search import predicted_evenness, search_bars
from preprocess.passes.equalize_width.search_findings import (
    bars_suffice,
    even_already,
    out_of_reach,
)
from preprocess.passes.equalize_width.telecentric_error import telecentric_error_of
from preprocess.units import Length, Share, Time

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.marking.heat.evenness import Evenness
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.passes.equalize_width.lay_out import ClearTest

_ROUNDING = 1.5
"""Steps of the written grid that are added to the clearance, so that rounding cannot eat it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Until(Declared):
    """Evenness that the search for bars has to reach."""

    evenness: Annotated[
        Share,
        Gt(0),
        Le(1),
        Doc("largest excess of a row's heat over the median of all rows, and of the wide ones"),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualizeWidth(Params):
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

    clearance: Annotated[
        Length, Ge(0), Doc("smallest distance from a bar to the part's silhouette")
    ] = 2.0
    bar: Annotated[Length, Gt(0), Doc("width of a bar")] = 0.6
    gap: Annotated[Length, Gt(0), Doc("distance between bars of groups that share rows")] = 0.4
    to_art: Annotated[Length, Ge(0), Doc("smallest distance from a bar to the artwork")] = 0.5
    field_margin: Annotated[
        Length, Ge(0), Doc("smallest distance from a bar to the edge of the machine's field")
    ] = 0.5
    span: Annotated[
        Length | None,
        Gt(0),
        Doc("width of rows with bars; if missing, the part's width plus twice clearance and bar"),
    ] = None
    narrower_than: Annotated[
        Length | None, Gt(0), Doc("only rows narrower than this get bars; if missing, all rows")
    ] = None
    quicker_than: Annotated[
        Time | None,
        Gt(0),
        Doc("only rows with a return time below this get bars"),
    ] = None
    until: Annotated[
        Until | None,
        Doc("search for the smallest span and the fewest rows with bars that predict even rows"),
    ] = None

    def contract_on(self, bench: Bench) -> Contract:
        """Paths must be merged where the software sweeps each path by itself."""
        rule = bench.machine_or_default.raster_groups
        needs = {FILLED} if rule is RasterGroups.EACH_COLOUR else {FILLED, MERGED}
        return replace(self.contract, needs=frozenset(needs))

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
        self._expect_place(after, laid.barred, bench)
        slant, machine = telecentric_error_of(bench), bench.machine_or_default
        return Outcome(
            artwork=after,
            findings=bar_findings(artwork.page, after, laid.barred, laid.sides, slant, machine),
            changes=_changes(laid.barred),
        )

    def _searched(self, artwork: Artwork, bench: Bench, goal: float) -> Outcome:
        """The fewest bars that make rows even; none if rows are even already."""
        groups = self._searchable(artwork, bench)

        def lay(span: float, below: float | None) -> BarLayout:
            one = replace(self, span=span, narrower_than=below)
            return one._settled(artwork, bench)  # noqa: SLF001 - another of this class

        def measure(laid: BarLayout) -> Evenness:
            return predicted_evenness(with_bars(artwork, laid), bench, groups)

        plain = predicted_evenness(artwork, bench, groups)
        if plain.off <= goal:
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
        parts, axis = union(artwork.parts), _axis(artwork, bench)
        slant = telecentric_error_of(bench)
        angles = dict.fromkeys(group.angle for group in groups)
        return {
            angle: part_extent(parts, angle, self._away(artwork), axis, slant) for angle in angles
        }

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
        measures = BarMeasures(
            bar=self.bar,
            gap=self.gap,
            to_art=self.to_art,
            below=self.narrower_than,
            quicker=self.quicker_than,
            machine=bench.machine_or_default,
            clear=None if self.until is None else self._room(artwork, bench),
        )
        return lay_out_bars(groups, innermost, measures, bench.machine_or_default.first_row)

    def _span(self, side: PartExtent) -> float:
        """The span given; a search stops at the span that clears the whole part."""
        full = side.span(self.bar)
        return full if self.span is None else min(self.span, full) if self.until else self.span

    def _room(self, artwork: Artwork, bench: Bench) -> ClearTest:
        axis, slant = _axis(artwork, bench), telecentric_error_of(bench)
        return clearance_test(artwork.parts, artwork.keep_off, self._away(artwork), axis, slant)

    def _expect_place(self, artwork: Artwork, barred: Sequence[GroupBars], bench: Bench) -> None:
        axis, slant = _axis(artwork, bench), telecentric_error_of(bench)
        expect_clear(barred, artwork.parts, self.clearance, axis, slant)
        expect_kept_off(barred, artwork.keep_off, axis, slant)
        wish = RoomWish(
            clearance=self.clearance,
            bar=self.bar,
            gap=self.gap,
            margin=self.field_margin,
            decided_span=self.span is not None,
        )
        field = field_box(artwork, bench.machine_or_default)
        expect_room(barred, union(artwork.parts), field, wish)


def _has_rows(shape: Shape) -> bool:
    return shape.is_engraved_area and not shape.geometry.is_empty


def _expect_parts(artwork: Artwork) -> None:
    if not artwork.parts:
        raise Refusal(
            "the part's silhouette is missing, so bars cannot be placed",
            'add it to the recipe: part: {outline: "#id-of-the-outline"}, or its [width, height]',
        )


def _axis(artwork: Artwork, bench: Bench) -> tuple[float, float]:
    """Point of the page on the optical axis: the middle of the field."""
    field = field_box(artwork, bench.machine_or_default)
    return centre_of_parts(artwork) if field is None else (field.centroid.x, field.centroid.y)


def _changes(barred: Sequence[GroupBars]) -> tuple[Change, ...]:
    return tuple(
        Change(
            layer=entry.group.output.layer,
            added=Amount(area=float(entry.bars.area)),
            why=f"bars of {entry.group.output.id}",
        )
        for entry in barred
    )
