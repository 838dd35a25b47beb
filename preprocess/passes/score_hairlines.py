"""score-hairlines: what is too thin for a few rows becomes centre lines to score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, ZONED
from preprocess.engine.ledger_entries import exchanged
from preprocess.engine.selection import chosen
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.medial_axis.centre_lines import Hairlines, centre_lines
from preprocess.geometry.medial_axis.parallel_lines import parallel_lines
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.fresh_ids import fresh
from preprocess.passes._shared.score_settings import score_settings
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiLineString

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_FEW_ROWS = 3
"""What fewer rows than these cover is a hairline, unless a width is given."""

_WIDTHS_LONG = 2
"""A hairline is at least so many times as long as the width it is judged by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreHairlines(Params):
    """Score the centre lines of areas that are too thin for a few rows, instead of engraving them.

    Rows across a hairline are dots, and along it there is room for one or none; a traced line is
    crisp. Lines run along the middle to the very tip and go straight on where hairlines cross.
    Where a hairline is wider than one line marks, several run side by side; one that ends at
    another runs on to its middle. What is wider stays engraved and ends where the lines begin, so
    that neither is missed nor marked by both.
    """

    name: ClassVar = "score-hairlines"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, ZONED})
    )

    narrower_than: Annotated[
        Length | None,
        Gt(0),
        Doc("what is at most this wide is a hairline; without it the width of three rows"),
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
        wanted = chosen(artwork, self)
        stroke = self.stroke or bench.machine_or_default.spot
        areas = [shape for shape in artwork.shapes if shape.is_engraved_area and wanted(shape)]
        traced = [self._traced(artwork, shape, stroke) for shape in areas]
        some = [one for one in traced if not one.lines.is_empty]
        names = fresh([f"{one.shape.id}-hairlines" for one in some], [s.id for s in artwork.shapes])
        instead = {id(one.shape): _parted(one, name) for one, name in zip(some, names, strict=True)}
        return Outcome(
            artwork=replace(
                artwork,
                shapes=tuple(new for old in artwork.shapes for new in instead.get(id(old), (old,))),
            ),
            findings=tuple(hairline_notes(artwork, traced, stroke, self.side_by_side)),
            changes=exchanged(
                [one.shape for one in some],
                [new for pair in instead.values() for new in pair],
                "hairlines became lines to score",
            ),
        )

    def _traced(self, artwork: Artwork, shape: Shape, stroke: float | None) -> Traced:
        _expect_no_bars(shape)
        width = self._width(artwork, shape.layer)
        least = _WIDTHS_LONG * width if self.longer_than is None else self.longer_than
        found: Hairlines = centre_lines(shape.geometry, width, least)
        lines = parallel_lines(found, stroke, self.side_by_side)
        return Traced(shape=shape, found=found, lines=lines)

    def _width(self, artwork: Artwork, layer: str) -> float:
        if self.narrower_than is not None:
            return self.narrower_than
        pitch = artwork.layer(layer).of(Operation.ENGRAVE).over(USUAL_SETTINGS).pitch
        if pitch is None:
            raise Refusal(
                f"nobody says how far apart rows of layer {layer!r} lie, or what is a hairline",
                "give score-hairlines narrower_than: 0.3 mm, "
                "or add settings: {engrave: {pitch: 0.1 mm}} to the recipe",
            )
        return _FEW_ROWS * pitch


def _parted(one: Traced, name: str) -> tuple[Shape, ...]:
    """The rest of a shape and its hairlines; a shape without a rest gives them its name."""
    lines = replace(
        one.shape, operation=Operation.SCORE, geometry=one.lines, level=None, stroke=None
    )
    if one.found.rest.is_empty:
        return (lines,)
    return (replace(one.shape, geometry=one.found.rest), replace(lines, id=name))


def _expect_no_bars(shape: Shape) -> None:
    if shape.bars is not None:
        raise Refusal(
            f"bars stand beside {shape.id!r} and were made for its rows as they were",
            "put score-hairlines before equalize-width",
        )


_WIDER = 1.1
"""From this many strokes on, a hairline is wider than its lines cover."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """One area, what was found in it, and the lines that are scored instead of its thin part."""

    shape: Shape
    found: Hairlines
    lines: MultiLineString

    @property
    def widths(self) -> tuple[float, float]:
        """Least and greatest local width of its hairlines, mm."""
        widths = [one.width for one in self.found.strokes]
        return min(float(w.min()) for w in widths), max(float(w.max()) for w in widths)


def hairline_notes(
    artwork: Artwork, traced: Sequence[Traced], stroke: float | None, most: int
) -> Iterator[Finding]:
    """All findings about areas whose hairlines are scored.

    Args:
        artwork: the artwork before.
        traced: what became of each area.
        stroke: how wide a line marks, mm; None if nobody knows.
        most: how many lines may run side by side.
    """
    some = [one for one in traced if not one.lines.is_empty]
    if not some:
        yield note("no-hairlines", "no engraved area here is thin and long enough to be scored")
        return
    for one in some:
        yield _became(one)
    for layer in dict.fromkeys(one.shape.layer for one in some):
        yield from score_settings(artwork, layer, "hairlines")
    yield from _coverage(some, stroke, most)


def _became(one: Traced) -> Finding:
    low, high = one.widths
    lines, area = len(one.lines.geoms), one.found.thin.area
    message = (
        f"{area:.3g} mm² of {one.shape.id} became {lines} line{'' if lines == 1 else 's'} to "
        f"score, {one.lines.length:.2f} mm in all, along hairlines {low:.3f} to {high:.3f} mm wide"
    )
    finding = note("hairlines-scored", message, elements=[one.shape.id])
    x, y = one.lines.geoms[0].coords[0]
    return replace(finding, layer=one.shape.layer, spot=(x, y))


def _coverage(some: Sequence[Traced], stroke: float | None, most: int) -> Iterator[Finding]:
    ids = [one.shape.id for one in some]
    if stroke is None:
        message = "nobody knows how wide a scored line marks, so each hairline gets a single line"
        remedy = "name the machine's spot, or give score-hairlines a stroke"
        yield note("hairline-single", message, remedy, elements=ids)
        return
    widest = max(one.widths[1] for one in some)
    if widest > _WIDER * most * stroke:
        message = (
            f"hairlines up to {widest:.3f} mm wide are wider than {most} lines of {stroke:g} mm "
            "side by side, and show gaps"
        )
        yield warn("hairline-gaps", message, "raise side_by_side, or lower narrower_than")
