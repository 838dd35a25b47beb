"""equalize-width: sacrificial bars beside the part give all rows the same width."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Ge, Gt

from preprocess.errors import Refusal
from preprocess.findings import note
from preprocess.geometry.booleans import union
from preprocess.geometry.parts import NOTHING
from preprocess.marking.bar_clear import expect_clear, expect_kept_off
from preprocess.marking.bar_notes import told
from preprocess.marking.bar_room import Side, Wish, expect_room, side_of
from preprocess.marking.bars import Barred, Measures, all_bars, laid_out
from preprocess.marking.field import centre_of_parts, field_box
from preprocess.marking.plan import RasterGroup, plan
from preprocess.marking.slant import slant_of
from preprocess.model.declared import Doc
from preprocess.model.facts import BARRED, FILLED, MERGED, SEPARATE, ZONED
from preprocess.model.ledger import Amount, Change
from preprocess.model.machine import FirstRow, Machine, RasterGroups
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.select import chosen
from preprocess.units import Length, Time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork import Artwork, Page
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape

ROUNDING = 1.5
"""Steps of the written grid that are added to the clearance, so that rounding cannot eat it."""

HAIR = 1e-6
"""Less than this, mm, is not missing."""

STEP = 0.1
"""The page grows by whole steps of this many mm."""

Laid = tuple[tuple[Barred, ...], dict[float, Side]]


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualizeWidth(Params):
    """Put sacrificial bars on both sides of the part, so that all rows are equally wide.

    Every lit row of a raster group gets one width, whatever the scan angle. The bars are swept
    with the artwork and mark whatever lies there: a matt sacrificial card. Groups that share rows
    get their bars side by side. Rows that are wider already stay as they are. With a limit only
    rows get bars that are narrower, or are returned to sooner, than it; with two limits, both.
    """

    name: ClassVar = "equalize-width"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED, MERGED}),
        gives=frozenset({BARRED}),
        keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}),
        seals=frozenset({BARRED}),
    )

    clearance: Annotated[
        Length, Ge(0), Doc("least distance from a bar to the part's silhouette")
    ] = 2.0
    bar: Annotated[Length, Gt(0), Doc("width of a bar")] = 0.6
    gap: Annotated[Length, Gt(0), Doc("distance between bars of groups that share rows")] = 0.4
    to_art: Annotated[Length, Ge(0), Doc("least distance from a bar to the artwork")] = 0.5
    field_margin: Annotated[
        Length, Ge(0), Doc("least distance from a bar to the edge of the machine's field")
    ] = 0.5
    span: Annotated[
        Length | None,
        Gt(0),
        Doc("least width of a row; the part's width and twice clearance and bar unless given"),
    ] = None
    narrower_than: Annotated[
        Length | None, Gt(0), Doc("only rows narrower than this get bars; all unless given")
    ] = None
    quicker_than: Annotated[
        Time | None,
        Gt(0),
        Doc("only rows to whose neighbour the beam comes sooner than this get bars"),
    ] = None

    def contract_on(self, bench: Bench) -> Contract:
        """Paths must be merged where the software sweeps each path by itself."""
        rule = (bench.machine or Machine()).raster_groups
        needs = {FILLED} if rule is RasterGroups.EACH_COLOUR else {FILLED, MERGED}
        return replace(self.contract, needs=frozenset(needs))

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Add the bars, and grow the page where they leave it.

        Raises:
            Refusal: no silhouette, no pitch or needed speed, or no room; the remedy says what
                would fit.
        """
        if not any(_has_rows(shape) for shape in artwork.shapes):
            message = "no area is engraved, so there are no rows to make equally wide"
            return Outcome(artwork=artwork, findings=(note("no-rows", message),))
        _expect_parts(artwork)
        (barred, sides), page = self._settled(artwork, bench)
        if not len(all_bars(barred)):
            raise self._needless()
        _expect_first(artwork, barred)
        after = replace(artwork, page=page, shapes=_with_bars(artwork, barred))
        self._expect_place(after, barred, bench)
        return Outcome(
            artwork=after,
            findings=told(artwork.page, after, barred, sides, slant_of(bench), bench.machine),
            changes=_changes(barred),
        )

    def _needless(self) -> Refusal:
        larger = [key for key in ("narrower_than", "quicker_than") if getattr(self, key)]
        what = f"a larger {' or '.join(larger)}" if larger else "a larger span"
        return Refusal("no row needs a bar", f"give {what}, or leave equalize-width out")

    def _settled(self, artwork: Artwork, bench: Bench) -> tuple[Laid, Page]:
        """Bars and page; a page that grows may move rows and field, which hang on its corner."""
        machine = bench.machine or Machine()
        for _ in range(4):
            groups = self._groups(artwork, machine)
            laid = self._laid(artwork, groups, bench)
            page = _grown(artwork.page, laid[0], _unit(groups, machine))
            if page == artwork.page:
                break
            artwork = replace(artwork, page=page)
        return laid, page

    def _groups(self, artwork: Artwork, machine: Machine) -> list[RasterGroup]:
        wanted = chosen(artwork, self)
        planned = plan(artwork, machine)
        groups = [step for step in planned.steps if isinstance(step, RasterGroup)]
        mine = [group for group in groups if any(wanted(shape) for shape in group.shapes)]
        for group in mine:
            if not all(wanted(shape) for shape in group.shapes):
                raise Refusal(
                    f"the software sweeps all of {group.output.id} together, but only some of "
                    "its shapes are chosen",
                    "choose all shapes of the layer, or give the others a layer of their own",
                )
        _expect_pitch(artwork, [s for s in artwork.shapes if s.is_engraved_area and wanted(s)])
        return mine

    def _laid(self, artwork: Artwork, groups: Sequence[RasterGroup], bench: Bench) -> Laid:
        parts, axis, slant = union(artwork.parts), _axis(artwork, bench), slant_of(bench)
        clearance = self.clearance + ROUNDING * 10.0**-artwork.drawing.decimals
        angles = dict.fromkeys(group.angle for group in groups)
        sides = {angle: side_of(parts, angle, clearance, axis, slant) for angle in angles}
        innermost = {
            a: (side.middle, self.span or side.span(self.bar)) for a, side in sides.items()
        }
        measures = Measures(
            bar=self.bar,
            gap=self.gap,
            to_art=self.to_art,
            below=self.narrower_than,
            quicker=self.quicker_than,
            machine=bench.machine,
        )
        rule = (bench.machine or Machine()).first_row
        return laid_out(groups, innermost, measures, rule), sides

    def _expect_place(self, artwork: Artwork, barred: Sequence[Barred], bench: Bench) -> None:
        axis, slant = _axis(artwork, bench), slant_of(bench)
        expect_clear(barred, artwork.parts, self.clearance, axis, slant)
        expect_kept_off(barred, artwork.keep_off, axis, slant)
        wish = Wish(
            clearance=self.clearance,
            bar=self.bar,
            gap=self.gap,
            margin=self.field_margin,
            decided_span=self.span is not None,
        )
        expect_room(barred, union(artwork.parts), field_box(artwork, bench.machine), wish)


def _has_rows(shape: Shape) -> bool:
    return shape.is_engraved_area and not shape.geometry.is_empty


def _expect_parts(artwork: Artwork) -> None:
    if not artwork.parts:
        raise Refusal(
            "without the part's silhouette nobody can say where bars may stand",
            'name it in the recipe: part: {outline: "#id-of-the-outline"}, or its [width, height]',
        )


def _expect_first(artwork: Artwork, barred: Sequence[Barred]) -> None:
    """Bars of an earlier step neither go nor are struck twice."""
    for shape in artwork.shapes:
        old = shape.bars or NOTHING
        if not old.is_empty and any(
            shape in entry.group.shapes or old.intersects(entry.bars) for entry in barred
        ):
            raise Refusal(
                f"bars of an earlier step stand beside layer {shape.layer!r} already",
                "let one equalize-width do all layers, which puts bars side by side",
            )


def _expect_pitch(artwork: Artwork, shapes: Sequence[Shape]) -> None:
    for shape in shapes:
        if artwork.layer(shape.layer).of(shape.operation).pitch is None:
            raise Refusal(
                f"without a pitch the rows of layer {shape.layer!r} are not known",
                "add it to the recipe: settings: {engrave: {pitch: 0.1 mm}}",
            )


def _axis(artwork: Artwork, bench: Bench) -> tuple[float, float]:
    """Where the optical axis meets the page: the middle of the field."""
    field = field_box(artwork, bench.machine)
    return centre_of_parts(artwork) if field is None else (field.centroid.x, field.centroid.y)


def _unit(groups: Sequence[RasterGroup], machine: Machine) -> float:
    """In which steps the page grows: by whole pitches where rows are counted from its corner."""
    pitches = {group.pitch for group in groups}
    return min(pitches) if machine.first_row is FirstRow.PAGE and len(pitches) == 1 else STEP


def _grown(page: Page, barred: Sequence[Barred], unit: float) -> Page:
    bars = all_bars(barred)
    if not len(bars):
        return page
    left, top, right, bottom = shapely.total_bounds(bars)
    wide = _steps(max(page.left - left, right - page.left - page.width), unit)
    high = _steps(max(page.top - top, bottom - page.top - page.height), unit)
    if not (wide or high):
        return page
    return replace(
        page,
        left=page.left - wide,
        top=page.top - high,
        width=page.width + 2 * wide,
        height=page.height + 2 * high,
    )


def _steps(missing: float, unit: float) -> float:
    """What is missing, in whole steps; nothing when less than rounding is missing."""
    return 0.0 if missing <= HAIR else unit * math.ceil(missing / unit - 1e-6)


def _with_bars(artwork: Artwork, barred: Sequence[Barred]) -> tuple[Shape, ...]:
    """Bars go to the first shape of their group; a shape that has none to get is left with none."""
    bars = {id(entry.group.shapes[0]): entry.bars for entry in barred}
    return tuple(
        replace(shape, bars=bars.get(id(shape), _without(shape))) for shape in artwork.shapes
    )


def _without(shape: Shape) -> MultiPolygon | None:
    """Bars of a shape that gets none; one without any area is done with all the same."""
    empty = shape.is_engraved_area and shape.geometry.is_empty
    return NOTHING if empty and shape.bars is None else shape.bars


def _changes(barred: Sequence[Barred]) -> tuple[Change, ...]:
    return tuple(
        Change(
            layer=entry.group.output.layer,
            added=Amount(area=float(entry.bars.area)),
            why=f"bars of {entry.group.output.id}",
        )
        for entry in barred
    )
