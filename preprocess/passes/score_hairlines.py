"""score-hairlines: replaces areas too thin for a few rows by centre lines to score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, ZONED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.medial_axis.centre_lines import Hairlines, centre_lines
from preprocess.geometry.medial_axis.parallel_lines import parallel_lines
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import engraving_pitch, expect_no_bars
from preprocess.passes._shared.score_settings import score_settings
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiLineString

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_FEW_ROWS = 3
"""Areas that fewer rows cover are hairlines, unless a width is given."""

_WIDTHS_LONG = 2
"""A hairline is at least so many times as long as the width it is judged by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreHairlines(Params):
    """Score the centre lines of areas that are too thin for a few rows, instead of engraving them.

    Rows across a hairline are dots, and along it there is room for one or none; a traced line is
    crisp. Lines run along the middle to the very tip and go straight on where hairlines cross.
    Wider hairlines get several lines side by side; a line that ends at another runs to its middle.
    Wider areas stay engraved and end where the lines begin: no gap, no double mark.
    """

    name: ClassVar = "score-hairlines"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, ZONED})
    )

    narrower_than: Annotated[
        Length | None,
        Gt(0),
        Doc("areas up to this wide are hairlines; without it the width of three rows"),
    ] = None
    longer_than: Annotated[
        Length | None,
        Ge(0),
        Doc("shorter thin places stay engraved; without it those under two such widths"),
    ] = None
    stroke: Annotated[
        Length | None, Gt(0), Doc("how wide a scored line marks; without it the machine's spot")
    ] = None
    side_by_side: Annotated[int, Ge(1), Doc("how many lines may run side by side")] = 5

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Part each chosen area into hairlines and the rest.

        Raises:
            Refusal: a layer has no pitch and no width is given, or bars stand beside an area.
        """
        stroke = self.stroke or bench.machine_or_default.spot
        areas = selected_areas(artwork, self)
        traced = [self._traced(artwork, shape, stroke) for shape in areas]
        some = [one for one in traced if not one.lines.is_empty]
        names = unique_ids(
            [f"{one.shape.id}-hairlines" for one in some], [s.id for s in artwork.shapes]
        )
        parted = [(one.shape, _parted(one, name)) for one, name in zip(some, names, strict=True)]
        return Outcome(
            artwork=artwork.exchanged(parted),
            findings=tuple(hairline_findings(artwork, traced, stroke, self.side_by_side)),
            changes=entries_of(parted, "hairlines became lines to score"),
        )

    def _traced(self, artwork: Artwork, shape: Shape, stroke: float | None) -> _Traced:
        expect_no_bars(shape, "put score-hairlines before equalize-width")
        width = self._width(artwork, shape.layer)
        least = _WIDTHS_LONG * width if self.longer_than is None else self.longer_than
        found: Hairlines = centre_lines(shape.geometry, width, least)
        lines = parallel_lines(found, stroke, self.side_by_side)
        return _Traced(shape=shape, found=found, lines=lines)

    def _width(self, artwork: Artwork, layer: str) -> float:
        if self.narrower_than is not None:
            return self.narrower_than
        instead = "give score-hairlines narrower_than: 0.3 mm"
        return _FEW_ROWS * engraving_pitch(artwork, layer, instead)


def _parted(one: _Traced, name: str) -> tuple[Shape, ...]:
    """The rest of a shape and its hairlines; a shape without a rest gives them its name."""
    lines = replace(
        one.shape, operation=Operation.SCORE, geometry=one.lines, level=None, stroke=None
    )
    if one.found.rest.is_empty:
        return (lines,)
    return (replace(one.shape, geometry=one.found.rest), replace(lines, id=name))


_WIDER = 1.1
"""From this many strokes on, a hairline is wider than its lines cover."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Traced:
    """One area, its hairlines, and the lines that are scored instead of its thin part."""

    shape: Shape
    found: Hairlines
    lines: MultiLineString

    @property
    def widths(self) -> tuple[float, float]:
        """Least and greatest local width of its hairlines, mm."""
        widths = [one.width for one in self.found.strokes]
        return min(float(w.min()) for w in widths), max(float(w.max()) for w in widths)


def hairline_findings(
    artwork: Artwork, traced: Sequence[_Traced], stroke: float | None, most: int
) -> Iterator[Finding]:
    """All findings about areas whose hairlines are scored.

    Args:
        artwork: the artwork before.
        traced: what became of each area.
        stroke: width that a line marks, mm; None if unknown.
        most: how many lines may run side by side.
    """
    some = [one for one in traced if not one.lines.is_empty]
    if not some:
        yield note("no-hairlines", "no engraved area is thin and long enough to be scored")
        return
    for one in some:
        yield _became(one)
    for layer in dict.fromkeys(one.shape.layer for one in some):
        yield from score_settings(artwork, layer, "hairlines")
    yield from _coverage(some, stroke, most)


def _became(one: _Traced) -> Finding:
    low, high = one.widths
    message = (
        f"{digits(one.found.thin.area, 3)} mm² of {one.shape.id} became "
        f"{counted(len(one.lines.geoms), 'line')} to score, {one.lines.length:.2f} mm in all, "
        f"along hairlines {low:.3f} to {high:.3f} mm wide"
    )
    ids, (x, y) = [one.shape.id], one.lines.geoms[0].coords[0]
    return note("hairlines-scored", message, elements=ids, layer=one.shape.layer, spot=(x, y))


def _coverage(some: Sequence[_Traced], stroke: float | None, most: int) -> Iterator[Finding]:
    ids = [one.shape.id for one in some]
    if stroke is None:
        message = "the machine's spot size is missing, so each hairline gets a single line"
        remedy = "name the machine's spot, or give score-hairlines a stroke"
        yield note("hairline-single", message, remedy, elements=ids)
        return
    widest = max(one.widths[1] for one in some)
    if widest > _WIDER * most * stroke:
        message = (
            f"hairlines up to {widest:.3f} mm wide show gaps: {most} lines of {digits(stroke)} mm "
            "side by side are narrower"
        )
        yield warn("hairline-gaps", message, "raise side_by_side, or lower narrower_than")
