"""strokes-to-areas: turns wide strokes into areas to engrave, fine ones into lines to score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selection_test
from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.shape import outlined_fills
from preprocess.model.declared import Doc
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape, Stroke
    from preprocess.model.artwork.source import Source
    from preprocess.model.bench.bench import Bench

_HAIR = 1e-6
"""Widths that differ by less than the drawing is read to, in mm, are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokesToAreas(Params):
    """Turn painted strokes into areas to engrave; thinner ones stay lines, to be scored.

    Works on lines to engrave and on lines whose operation is open. Lines of a layer that is scored,
    cut or a guide stay lines unless `only` names them.
    """

    name: ClassVar = "strokes-to-areas"
    contract: ClassVar = Contract(gives=frozenset({FILLED}), keeps=frozenset({FILLED}))

    wider_than: Annotated[
        Length | None, Ge(0), Doc("only strokes wider than this become areas; without it all do")
    ] = None
    around_areas: Annotated[
        bool, Doc("strokes in the paint of their own filled shape become areas at any width")
    ] = False

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Replace strokes in place; the order of painting and marking stays."""
        wanted = selection_test(artwork, self)
        fine = artwork.drawing.tolerance
        mine = [s for s in artwork.shapes if wanted(s) and self._works_on(artwork, s)]
        around = outlined_fills(artwork.shapes) if self.around_areas else frozenset()
        turned = [(s, self._turned(s, fine, thin=s.id not in around)) for s in mine]
        exchanges = [(old, () if new is None else (new,)) for old, new in turned]
        outlined = [(old, new) for old, new in exchanges if all(one.is_area for one in new)]
        return Outcome(
            artwork=artwork.exchanged(exchanges),
            findings=tuple(self._findings(turned)),
            changes=entries_of(outlined, "strokes became areas"),
        )

    def _works_on(self, artwork: Artwork, shape: Shape) -> bool:
        if shape.is_area:
            return False
        undecided = artwork.layer(shape.layer).operation in {None, Operation.ENGRAVE}
        return undecided or self.only is not None

    def _turned(self, shape: Shape, tolerance: float, *, thin: bool) -> Shape | None:
        """The shape as an area or a line to score; None where the stroke paints nothing.

        `thin` says that its width decides.
        """
        if shape.stroke is None or (thin and not self._is_wide(shape.stroke)):
            scored = Operation.SCORE if shape.operation is Operation.ENGRAVE else shape.operation
            return replace(shape, operation=scored)
        area = outline_stroke(shape.geometry, shape.stroke, tolerance=tolerance)
        if area.is_empty:
            return None
        alone = len(shape.sources) == 1
        sources = tuple(
            replace(source, geometry=area) if alone else _painted(source, shape.stroke, tolerance)
            for source in shape.sources
        )
        return replace(
            shape, operation=Operation.ENGRAVE, geometry=area, sources=sources, stroke=None
        )

    def _is_wide(self, stroke: Stroke) -> bool:
        return self.wider_than is None or stroke.width_mm > self.wider_than + _HAIR

    def _findings(self, turned: Sequence[tuple[Shape, Shape | None]]) -> Iterator[Finding]:
        areas = [new for _, new in turned if new is not None and new.is_area]
        lines = [new for _, new in turned if new is not None and not new.is_area]
        empty = [old for old, new in turned if new is None]
        if areas:
            total = sum(shape.geometry.area for shape in areas)
            what = counted(len(areas), "stroke")
            message = f"{what} became areas to engrave, {total:.2f} mm² in all"
            yield note("strokes-became-areas", message, elements=_ids(areas))
        if lines:
            fate = " and ".join(sorted({str(shape.operation) for shape in lines}))
            wide = "" if self.wider_than is None else f" no wider than {digits(self.wider_than)} mm"
            stay = "stays a line" if len(lines) == 1 else "stay lines"
            message = f"{counted(len(lines), 'stroke')}{wide} {stay} to {fate}"
            yield note("strokes-stay-lines", message, elements=_ids(lines))
        if empty:
            message = f"left out {counted(len(empty), 'stroke')} without paint"
            remedy = "give them a width in the drawing, or remove them"
            yield warn("stroke-paints-nothing", message, remedy, elements=_ids(empty))


def _painted(source: Source, stroke: Stroke, tolerance: float) -> Source:
    lines = source.geometry
    if lines is None or lines.geom_type != "MultiLineString":
        return source
    return replace(source, geometry=outline_stroke(lines, stroke, tolerance=tolerance))


def _ids(shapes: Sequence[Shape]) -> list[str]:
    return list(dict.fromkeys(shape.id for shape in shapes))
