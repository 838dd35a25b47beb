"""strokes-to-areas: painted strokes become areas to engrave; fine ones stay lines to score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge

from preprocess.findings import Finding, note, warn
from preprocess.geometry.stroking import outline
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED
from preprocess.model.ledger import Amount, Change
from preprocess.model.settings import Operation
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.select import chosen
from preprocess.units import Length

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape

Pairs = list[tuple["Shape", "Shape | None"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokesToAreas(Params):
    """Turn painted strokes into areas to engrave; thinner ones stay lines, to be scored.

    Works on lines that are to be engraved or whose operation nobody chose. Lines of a layer that
    is scored, cut or a guide stay lines unless `only` names them.
    """

    name: ClassVar = "strokes-to-areas"
    contract: ClassVar = Contract(gives=frozenset({FILLED}))

    wider_than: Annotated[
        Length | None, Ge(0), Doc("only strokes wider than this become areas; without it all do")
    ] = None

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Replace strokes in place, so that the order of painting and marking stays."""
        wanted = chosen(artwork, self)
        turned = [
            self._turned(shape) if wanted(shape) and self._works_on(artwork, shape) else shape
            for shape in artwork.shapes
        ]
        pairs = [
            (before, after)
            for before, after in zip(artwork.shapes, turned, strict=True)
            if after is not before
        ]
        return Outcome(
            artwork=replace(artwork, shapes=tuple(s for s in turned if s is not None)),
            findings=tuple(_findings(pairs)),
            changes=tuple(_changes(pairs)),
        )

    def _works_on(self, artwork: Artwork, shape: Shape) -> bool:
        if shape.is_area:
            return False
        undecided = artwork.layer(shape.layer).operation in {None, Operation.ENGRAVE}
        return undecided or self.only is not None

    def _turned(self, shape: Shape) -> Shape | None:
        stroke = shape.stroke
        thin = self.wider_than is not None and stroke and stroke.width_mm <= self.wider_than
        if stroke is None or thin:
            scored = Operation.SCORE if shape.operation is Operation.ENGRAVE else shape.operation
            return replace(shape, operation=scored)
        area = outline(shape.geometry, stroke)
        if area.is_empty:
            return None
        sources = tuple(replace(source, geometry=area) for source in shape.sources)
        return replace(
            shape, operation=Operation.ENGRAVE, geometry=area, sources=sources, stroke=None
        )


def _findings(pairs: Pairs) -> list[Finding]:
    areas = [before for before, after in pairs if after is not None and after.is_area]
    lines = [before for before, after in pairs if after is not None and not after.is_area]
    empty = [before for before, after in pairs if after is None]
    found = []
    if areas:
        message = f"{_count(areas)} became areas to engrave"
        found.append(note("strokes-became-areas", message, elements=_ids(areas)))
    if lines:
        message = f"{_count(lines)} stay lines to score"
        found.append(note("strokes-stay-lines", message, elements=_ids(lines)))
    if empty:
        message = f"{_count(empty)} paint nothing and were left out"
        remedy = "give them a width in the drawing, or remove them"
        found.append(warn("stroke-paints-nothing", message, remedy, elements=_ids(empty)))
    return found


def _changes(pairs: Pairs) -> list[Change]:
    """Area gained and length lost, layer by layer."""
    gained: dict[str, float] = {}
    lost: dict[str, float] = {}
    for before, after in pairs:
        if after is None or after.is_area:
            lost[before.layer] = lost.get(before.layer, 0.0) + before.geometry.length
        if after is not None and after.is_area:
            gained[after.layer] = gained.get(after.layer, 0.0) + after.geometry.area
    return [
        Change(
            layer=layer,
            added=Amount(area=gained.get(layer, 0.0)),
            removed=Amount(length=length),
            why="strokes became areas",
        )
        for layer, length in lost.items()
    ]


def _count(shapes: list[Shape]) -> str:
    return f"{len(shapes)} stroke{'' if len(shapes) == 1 else 's'}"


def _ids(shapes: list[Shape]) -> list[str]:
    return list(dict.fromkeys(shape.id for shape in shapes))
