"""split: cuts a compound path into separate shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar, NamedTuple

from shapely import MultiPolygon

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, SEPARATE, ZONED
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, counted, note
from preprocess.geometry.overlay.components import components
from preprocess.geometry.overlay.owners import areas_under
from preprocess.geometry.overlay.topmost import divide_by_topmost
from preprocess.model.declared import Doc
from preprocess.passes._shared.sweep_effect import sweep_note
from preprocess.passes._shared.unique_ids import unique_ids

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.artwork.source import Source
    from preprocess.model.bench.bench import Bench


class SplitBy(StrEnum):
    """Criterion for separate shapes."""

    CONNECTED = "connected"
    SOURCE = "source"
    LABEL = "label"


class _Piece(NamedTuple):
    """An area, its preferred name, and the elements it came from."""

    name: str
    area: MultiPolygon
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Split(Params):
    """Make separate shapes of a compound, each swept by itself.

    By default each connected area becomes a shape, from top to bottom; so does an island in a
    hole. By source or label the elements or groups of the drawing come back in the order of
    painting. Places of several elements go to the one painted last, places of none to the nearest.
    """

    name: ClassVar = "split"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}),
        gives=frozenset({SEPARATE}),
        keeps=frozenset({FILLED, ZONED}),
    )

    by: Annotated[
        SplitBy, Doc("connected area, source element of the drawing, or label of its layer")
    ] = SplitBy.CONNECTED

    def contract_on(self, bench: Bench) -> Contract:  # noqa: ARG002
        """Only a split by connected areas makes all shapes separate."""
        gives = self.contract.gives if self.by is SplitBy.CONNECTED else frozenset()
        return replace(self.contract, gives=gives)

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Split every chosen engraved area; the pieces take its place in the order."""
        areas = selected_areas(artwork, self)
        cut = [(shape, some) for shape in areas if len(some := self._pieces(shape)) > 1]
        whole = artwork.exchanged((shape, ()) for shape, _ in cut).shapes
        wanted = [piece.name for _, pieces in cut for piece in pieces]
        names = iter(unique_ids(wanted, [shape.id for shape in whole]))
        exchanges = [
            (shape, [replace(shape, id=next(names), geometry=a, sources=s) for _, a, s in pieces])
            for shape, pieces in cut
        ]
        return Outcome(
            artwork=artwork.exchanged(exchanges),
            findings=(*_findings(cut), *sweep_note(self.name, bench)),
        )

    def _pieces(self, shape: Shape) -> Sequence[_Piece]:
        """The pieces of a shape; none where it stays whole."""
        if self.by is SplitBy.CONNECTED:
            return _connected(shape)
        own = [source.id if self.by is SplitBy.SOURCE else source.label for source in shape.sources]
        return _by_key(shape, [key or shape.layer for key in own])


def _connected(shape: Shape) -> Sequence[_Piece]:
    areas = components(shape.geometry)
    if len(areas) < 2:  # noqa: PLR2004 - one cannot be split
        return ()
    known, painted = _painted(shape)
    return [
        _piece(MultiPolygon([area]), tuple(shape.sources[known[i]] for i in mine), shape)
        for area, mine in zip(areas, areas_under(areas, painted), strict=True)
    ]


def _piece(area: MultiPolygon, sources: tuple[Source, ...], shape: Shape) -> _Piece:
    """Named after the element painted last; keeps all elements where their areas are unknown."""
    if not sources:
        return _Piece(shape.id, area, shape.sources)
    return _Piece(sources[-1].id, area, sources)


def _by_key(shape: Shape, keys: Sequence[str]) -> Sequence[_Piece]:
    order = list(dict.fromkeys(keys))
    known, painted = _painted(shape)
    if len(order) < 2 or not known:  # noqa: PLR2004 - one cannot be split
        return ()
    areas = divide_by_topmost(shape.geometry, painted, [order.index(keys[i]) for i in known])
    of_key: dict[str, list[Source]] = {key: [] for key in order}
    for key, source in zip(keys, shape.sources, strict=True):
        of_key[key].append(source)
    return [
        _Piece(order[number], area, tuple(of_key[order[number]])) for number, area in areas.items()
    ]


def _painted(shape: Shape) -> tuple[list[int], list[MultiPolygon]]:
    """The sources whose area is known: their numbers and their areas."""
    known = [
        (number, source.geometry)
        for number, source in enumerate(shape.sources)
        if isinstance(source.geometry, MultiPolygon) and not source.geometry.is_empty
    ]
    return [number for number, _ in known], [area for _, area in known]


def _findings(cut: Sequence[tuple[Shape, Sequence[_Piece]]]) -> Iterator[Finding]:
    if cut:
        pieces = sum(len(mine) for _, mine in cut)
        message = f"{counted(len(cut), 'path')} became {pieces} separate ones"
        yield note("paths-split", message, elements=[shape.id for shape, _ in cut])
    hidden = [
        source.id
        for shape, pieces in cut
        for source in shape.sources
        if not any(source is kept for piece in pieces for kept in piece.sources)
    ]
    if hidden:
        message = f"{counted(len(hidden), 'element')} without a path, hidden under later paint"
        yield note("elements-covered", message, elements=hidden)
