"""split: a compound becomes separate shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from preprocess.findings import Finding, warn
from preprocess.geometry.booleans import difference, intersection, union
from preprocess.geometry.components import components
from preprocess.model.declared import Doc
from preprocess.model.facts import FILLED, SEPARATE, ZONED
from preprocess.model.machine import RasterGroups
from preprocess.passes.base import Contract, Outcome, Params
from preprocess.passes.select import chosen

if TYPE_CHECKING:
    from preprocess.model.artwork import Artwork
    from preprocess.model.bench import Bench
    from preprocess.model.shape import Shape
    from preprocess.model.source import Source

Piece = tuple[str, MultiPolygon, tuple["Source", ...]]


class By(StrEnum):
    """What makes a shape of its own."""

    CONNECTED = "connected"
    SOURCE = "source"
    LABEL = "label"


@dataclass(frozen=True, slots=True, kw_only=True)
class Split(Params):
    """Make separate shapes of a compound, each swept by itself.

    By default each connected area becomes a shape; an island in a hole is one of its own. By
    source or label the shapes of the drawing come back; what belonged to several goes to the one
    painted last, and what belongs to none goes to the nearest.
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
        shapes: list[Shape] = []
        for shape in artwork.shapes:
            if shape.is_engraved_area and wanted(shape):
                shapes += self._pieces(shape)
            else:
                shapes.append(shape)
        after = replace(artwork, shapes=tuple(shapes))
        return Outcome(artwork=after, findings=tuple(_without_effect(bench)))

    def _pieces(self, shape: Shape) -> list[Shape]:
        pieces = _connected(shape) if self.by is By.CONNECTED else _by_key(shape, self.by)
        if len(pieces) == 1:
            return [replace(shape, sources=pieces[0][2])]
        names = [name for name, _, _ in pieces]
        return [
            replace(shape, id=_numbered(names, index), geometry=area, sources=sources)
            for index, (_, area, sources) in enumerate(pieces)
        ]


def _numbered(names: list[str], index: int) -> str:
    name = names[index]
    return name if names.count(name) == 1 else f"{name}-{names[: index + 1].count(name)}"


def _connected(shape: Shape) -> list[Piece]:
    areas = components(shape.geometry)
    owners = _owners(areas, shape.sources)
    return [
        (_name(mine, shape), MultiPolygon([area]), mine or shape.sources)
        for area, mine in zip(areas, owners, strict=True)
    ]


def _name(sources: tuple[Source, ...], shape: Shape) -> str:
    return sources[-1].id if sources else shape.id


def _owners(areas: tuple[Polygon, ...], sources: tuple[Source, ...]) -> list[tuple[Source, ...]]:
    """For each area the sources whose insides meet its own, in order of painting."""
    if len(sources) == 1:
        return [sources] * len(areas)
    known = [
        s for s in sources if s.geometry is not None and s.geometry.geom_type == "MultiPolygon"
    ]
    painted = np.array([source.geometry for source in known], dtype=object)
    pieces = np.array(areas, dtype=object)
    if not len(painted):
        return [()] * len(areas)
    piece, source = shapely.STRtree(painted).query(pieces, predicate="intersects")
    inside = shapely.relate_pattern(pieces[piece], painted[source], "T********")
    found: list[list[int]] = [[] for _ in areas]
    for p, s in zip(piece[inside].tolist(), source[inside].tolist(), strict=True):
        found[p].append(s)
    return [tuple(known[index] for index in sorted(mine)) for mine in found]


def _by_key(shape: Shape, by: By) -> list[Piece]:
    """Take each source's area from the top down; leftovers go to the nearest piece."""
    groups: dict[str, list[Source]] = {}
    for source in shape.sources:
        key = source.id if by is By.SOURCE else source.label or "no label"
        groups.setdefault(key, []).append(source)
    rest, taken = shape.geometry, {}
    for key in reversed(groups):
        own = union([s.geometry for s in groups[key] if s.geometry is not None])
        taken[key] = intersection(rest, own)
        rest = difference(rest, own)
    pieces = {key: taken[key] for key in groups if not taken[key].is_empty}
    if not pieces:
        return [(shape.id, shape.geometry, shape.sources)]
    for area in components(rest):
        nearest = min(pieces, key=lambda key: pieces[key].distance(area))
        pieces[nearest] = union([pieces[nearest], area])
    return [(key, area, tuple(groups[key])) for key, area in pieces.items()]


def _without_effect(bench: Bench) -> list[Finding]:
    if bench.machine is None or bench.machine.raster_groups is not RasterGroups.EACH_COLOUR:
        return []
    message = (
        "this machine's software sweeps each colour as a whole: splitting changes nothing there"
    )
    return [
        warn("split-without-effect", message, "leave split out, or give shapes layers of their own")
    ]
