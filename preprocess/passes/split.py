"""split: a compound becomes separate shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar, NamedTuple

from shapely import MultiPolygon

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, SEPARATE, ZONED
from preprocess.engine.selection import chosen
from preprocess.findings import Finding, note
from preprocess.geometry.overlay.components import components
from preprocess.geometry.overlay.owners import areas_under
from preprocess.geometry.overlay.topmost import divide_by_topmost
from preprocess.model.declared import Doc
from preprocess.passes._shared.fresh_ids import fresh
from preprocess.passes._shared.sweep_effect import without_effect

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.artwork.source import Source
    from preprocess.model.bench.bench import Bench


class By(StrEnum):
    """What makes a shape of its own."""

    CONNECTED = "connected"
    SOURCE = "source"
    LABEL = "label"


class Piece(NamedTuple):
    """An area with the name it would like, and the elements it came from."""

    name: str
    area: MultiPolygon
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Split(Params):
    """Make separate shapes of a compound, each swept by itself.

    By default each connected area becomes a shape, from top to bottom; an island in a hole is one
    of its own. By source or label the elements or groups of the drawing come back in the order of
    painting: what belongs to several goes to the one painted last, what belongs to none to the
    nearest.
    """

    name: ClassVar = "split"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}),
        gives=frozenset({SEPARATE}),
        keeps=frozenset({FILLED, ZONED}),
    )

    by: Annotated[
        By, Doc("connected area, source element of the drawing, or label of its layer")
    ] = By.CONNECTED

    def contract_on(self, bench: Bench) -> Contract:  # noqa: ARG002
        """Only connected areas are sure to be separate."""
        gives = self.contract.gives if self.by is By.CONNECTED else frozenset()
        return replace(self.contract, gives=gives)

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Split every chosen engraved area; the pieces take its place in the order."""
        wanted = chosen(artwork, self)
        cut = {
            index: pieces
            for index, shape in enumerate(artwork.shapes)
            if shape.is_engraved_area and wanted(shape) and len(pieces := self._pieces(shape)) > 1
        }
        taken = [shape.id for index, shape in enumerate(artwork.shapes) if index not in cut]
        names = iter(fresh([piece.name for pieces in cut.values() for piece in pieces], taken))
        shapes: list[Shape] = []
        for index, shape in enumerate(artwork.shapes):
            shapes += (
                [
                    replace(shape, id=next(names), geometry=piece.area, sources=piece.sources)
                    for piece in cut[index]
                ]
                if index in cut
                else [shape]
            )
        return Outcome(
            artwork=replace(artwork, shapes=tuple(shapes)),
            findings=(*_findings(artwork.shapes, cut), *without_effect(self.name, bench)),
        )

    def _pieces(self, shape: Shape) -> Sequence[Piece]:
        """What a shape falls into; nothing where it stays whole."""
        if self.by is By.CONNECTED:
            return _connected(shape)
        own = [source.id if self.by is By.SOURCE else source.label for source in shape.sources]
        return _by_key(shape, [key or shape.layer for key in own])


def _connected(shape: Shape) -> Sequence[Piece]:
    areas = components(shape.geometry)
    if len(areas) < 2:  # noqa: PLR2004 - one cannot be split
        return ()
    known, painted = _painted(shape)
    return [
        _piece(MultiPolygon([area]), tuple(shape.sources[known[i]] for i in mine), shape)
        for area, mine in zip(areas, areas_under(areas, painted), strict=True)
    ]


def _piece(area: MultiPolygon, sources: tuple[Source, ...], shape: Shape) -> Piece:
    """Named after the element painted last; all are kept where nobody knows what they painted."""
    if not sources:
        return Piece(shape.id, area, shape.sources)
    return Piece(sources[-1].id, area, sources)


def _by_key(shape: Shape, keys: Sequence[str]) -> Sequence[Piece]:
    order = list(dict.fromkeys(keys))
    known, painted = _painted(shape)
    if len(order) < 2 or not known:  # noqa: PLR2004 - one cannot be split
        return ()
    areas = divide_by_topmost(shape.geometry, painted, [order.index(keys[i]) for i in known])
    of_key: dict[str, list[Source]] = {key: [] for key in order}
    for key, source in zip(keys, shape.sources, strict=True):
        of_key[key].append(source)
    return [
        Piece(order[number], area, tuple(of_key[order[number]])) for number, area in areas.items()
    ]


def _painted(shape: Shape) -> tuple[list[int], list[MultiPolygon]]:
    """The sources whose area is known: their numbers and their areas."""
    known = [
        (number, source.geometry)
        for number, source in enumerate(shape.sources)
        if isinstance(source.geometry, MultiPolygon) and not source.geometry.is_empty
    ]
    return [number for number, _ in known], [area for _, area in known]


def _findings(shapes: Sequence[Shape], cut: Mapping[int, Sequence[Piece]]) -> list[Finding]:
    found = []
    if cut:
        pieces = sum(len(mine) for mine in cut.values())
        message = f"{len(cut)} path{'s' * (len(cut) > 1)} became {pieces} separate ones"
        found.append(note("paths-split", message, elements=[shapes[i].id for i in cut]))
    hidden = [
        source.id
        for index, pieces in cut.items()
        for source in _unseen(shapes[index].sources, pieces)
    ]
    if hidden:
        lie = "element lies" if len(hidden) == 1 else "elements lie"
        message = f"{len(hidden)} {lie} under later paint, so without a path of its own"
        found.append(note("elements-covered", message, elements=hidden))
    return found


def _unseen(sources: Sequence[Source], pieces: Sequence[Piece]) -> list[Source]:
    """Sources that no piece belongs to."""
    kept = {id(source) for piece in pieces for source in piece.sources}
    return [source for source in sources if id(source) not in kept]
