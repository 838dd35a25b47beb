"""score-hairlines: what is too thin for a few rows becomes centre lines to score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Gt

from preprocess.errors import Refusal
from preprocess.geometry.centre_lines import Hairlines, centre_lines
from preprocess.geometry.centre_lines_side import lines_along
from preprocess.marking.hairline_notes import Traced, hairline_notes
from preprocess.marking.plan import USUAL
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, MERGED, ZONED
from preprocess.model.settings import Operation
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.entries import exchanged
from preprocess.passes.naming import fresh
from preprocess.passes.select import chosen
from preprocess.units import Length

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape

FEW_ROWS = 3
"""What fewer rows than these cover is a hairline, unless a width is given."""

WIDTHS_LONG = 2
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
        stroke = self.stroke or (bench.machine.spot if bench.machine else None)
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
        least = WIDTHS_LONG * width if self.longer_than is None else self.longer_than
        found: Hairlines = centre_lines(shape.geometry, width, least)
        lines = lines_along(found, stroke, self.side_by_side)
        return Traced(shape=shape, found=found, lines=lines)

    def _width(self, artwork: Artwork, layer: str) -> float:
        if self.narrower_than is not None:
            return self.narrower_than
        pitch = artwork.layer(layer).of(Operation.ENGRAVE).over(USUAL).pitch
        if pitch is None:
            raise Refusal(
                f"nobody says how far apart rows of layer {layer!r} lie, or what is a hairline",
                "give score-hairlines narrower_than: 0.3 mm, "
                "or add settings: {engrave: {pitch: 0.1 mm}} to the recipe",
            )
        return FEW_ROWS * pitch


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
