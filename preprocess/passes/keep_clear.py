"""keep-clear: cuts shapes away from places of the part that must stay unmarked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Ge
from shapely import MultiLineString, MultiPolygon

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, ZONED
from preprocess.engine.ledger import amount_of
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selected_by, selection_test
from preprocess.errors import Refusal
from preprocess.findings import Finding, counted, note, one_by_one, warn
from preprocess.geometry.offset.offset import grow_area
from preprocess.geometry.offset.outlines import ROUNDING, area_within, lines_outside
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import Geometry

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape, Stroke
    from preprocess.model.bench.bench import Bench

    Pairs = Sequence[tuple[Shape, Shape]]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear(Params):
    """Cut shapes away from places of the part where nothing may be marked.

    Such places are the elements that `areas` chooses, the recipe's keep_off areas, and holes in
    the part's outline. Elements may be holes, screws, raised ribs or embossed letters; of lines,
    the inside of closed ones counts. Lines are cut too. The chosen elements become guides: they
    show where nothing goes and are not marked.
    """

    name: ClassVar = "keep-clear"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, ZONED})
    )

    areas: Annotated[
        Selection | None, Doc("elements to keep clear of, besides keep_off and the part's holes")
    ] = None
    margin: Annotated[
        Length,
        Ge(0),
        Doc("how far outlines and lines keep away; the mark is half a spot wider"),
    ] = 0.0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Cut areas and lines.

        Raises:
            Refusal: there is no area to keep clear.
        """
        if not artwork.shapes:
            return Outcome(artwork=artwork)
        wanted = selection_test(artwork, self)
        theirs = () if self.areas is None else selected_by(artwork, self.areas, "areas")
        off = self._off(artwork, theirs)
        guided = artwork.exchanged((shape, (_guide(shape),)) for shape in theirs)
        others = artwork.exchanged((shape, ()) for shape in theirs).shapes
        mine = [s for s in others if wanted(s) and s.operation is not Operation.GUIDE]
        cut = [(old, new) for old in mine if (new := _clear(old, off)) is not old]
        left = [(old, () if new.geometry.is_empty else (new,)) for old, new in cut]
        guides = [shape for shape in theirs if shape.operation is not Operation.GUIDE]
        return Outcome(
            artwork=guided.exchanged(left),
            findings=tuple(clearing_findings(cut, guides, off)),
            changes=entries_of(left, "cut away to keep areas clear"),
        )

    def _off(self, artwork: Artwork, theirs: tuple[Shape, ...]) -> MultiPolygon:
        holes = [shapely.Polygon(ring) for part in artwork.parts for ring in _holes(part)]
        off = union([*(area_within(s.geometry) for s in theirs), *artwork.keep_off, *holes])
        may_be_none = self.areas is not None and self.areas.optional and not theirs
        if off.is_empty and not may_be_none:
            raise Refusal(
                f"the elements of areas: {{{self.areas}}} enclose nothing"
                if theirs
                else "there is no area to keep clear",
                "choose closed outlines with areas: {select: '#screw'}, or give the recipe a "
                "keep_off list",
            )
        return grow_area(off, self.margin)


def _holes(part: MultiPolygon) -> list[shapely.LinearRing]:
    return [ring for polygon in part.geoms for ring in polygon.interiors]


def _guide(shape: Shape) -> Shape:
    if shape.operation is Operation.GUIDE:
        return shape
    return replace(shape, operation=Operation.GUIDE, level=None, bars=None)


def _clear(shape: Shape, off: MultiPolygon) -> Shape:
    """The shape outside an area; the very same where it does not reach into it."""
    if isinstance(shape.geometry, MultiLineString):
        return _lines(shape, off)
    if not shape.geometry.intersects(off):
        return shape
    rest = difference(shape.geometry, off)
    if shape.geometry.area - rest.area <= ROUNDING * shape.geometry.length:
        return shape
    return replace(shape, geometry=rest)


def _lines(shape: Shape, off: MultiPolygon) -> Shape:
    rest = lines_outside(shape.geometry, off)
    if shape.geometry.length - rest.length > ROUNDING:
        shape = replace(shape, geometry=rest)
    if shape.stroke is None or not _reaches(shape, shape.stroke, off):
        return shape
    without = [area for area in (shape.stroke.without, off) if area is not None]
    return replace(shape, stroke=replace(shape.stroke, without=union(without)))


def _reaches(shape: Shape, stroke: Stroke, off: MultiPolygon) -> bool:
    """Test whether the paint of a stroke, should it become an area, could reach into an area."""
    if stroke.without is not None and shapely.covers(stroke.without, off):
        return False
    reach = stroke.width_mm / 2 * max(1.5, stroke.miter_limit)
    return bool(shapely.dwithin(shape.geometry, off, reach))


_SPECK = 1e-3
"""Areas in mm² and lengths in mm below this are not worth a finding."""


def clearing_findings(cut: Pairs, guides: Sequence[Shape], off: MultiPolygon) -> Iterator[Finding]:
    """All findings about shapes before and after, elements that became guides, and the areas."""
    cut = [(old, new) for old, new in cut if _lost(old, new)[0] > _SPECK]
    gone = dict(pair for old, new in cut for pair in _vanished(old, new, off))
    if gone:
        message = f"{counted(len(gone), 'element')} left out, inside areas to keep clear"
        remedy = "move them in the drawing if they are wanted, or give keep-clear a smaller margin"
        at = shapely.point_on_surface(next(iter(gone.values())))
        yield warn("cleared-away", message, remedy, elements=gone, spot=(at.x, at.y))
    for some in one_by_one([(old, new) for old, new in cut if not new.geometry.is_empty]):
        yield _trimmed(some, off)
    if guides:
        message = f"{counted(len(guides), 'element')} to keep clear of became guides, not marked"
        yield note("clear-areas-unmarked", message, elements=[shape.id for shape in guides])
    if not cut:
        yield note("clear-already", f"the {off.area:.2f} mm² to keep clear are clear already")


def _trimmed(pairs: Pairs, off: MultiPolygon) -> Finding:
    lost = [_lost(old, new) for old, new in pairs]
    units = dict.fromkeys(unit for _, unit in lost)
    sums = [f"{sum(amount for amount, own in lost if own == unit):.2f} {unit}" for unit in units]
    ids = [old.id for old, _ in pairs]
    whose = ids[0] if len(ids) == 1 else counted(len(ids), "shape")
    message = f"cut {' and '.join(sums)} of {whose} away from areas to keep clear"
    layers = {old.layer for old, _ in pairs}
    at = shapely.point_on_surface(shapely.intersection(pairs[0][0].geometry, off))
    if at.is_empty:
        return note("cut-clear", message, elements=ids)
    layer = layers.pop() if len(layers) == 1 else None
    return note("cut-clear", message, elements=ids, layer=layer, spot=(at.x, at.y))


def _lost(old: Shape, new: Shape) -> tuple[float, str]:
    before, after = amount_of(old), amount_of(new)
    if old.is_area:
        return before.area - after.area, "mm²"
    return before.length - after.length, "mm"


def _vanished(old: Shape, new: Shape, off: MultiPolygon) -> Iterator[tuple[str, Geometry]]:
    """The shape, or those elements merged into it that lie on the areas altogether."""
    if new.geometry.is_empty:
        yield old.id, old.geometry
        return
    if len(old.sources) > 1:
        slack = off.buffer(_SPECK)
        shapely.prepare(slack)
        known = [s for s in old.sources if s.geometry is not None and not s.geometry.is_empty]
        yield from ((s.id, s.geometry) for s in known if slack.covers(s.geometry))
