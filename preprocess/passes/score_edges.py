"""score-edges: scores an outline just inside engraved areas, for a crisp border."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

import numpy as np
import shapely
from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import CORE, INTERLEAVED
from preprocess.engine.ledger import Change, amount_of
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.offset.inset_lines import inset_outlines
from preprocess.geometry.offset.opening import opening_residue, without_slivers
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import groups_within
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import half_spot
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


class When(StrEnum):
    """Order of outline and engraving."""

    BEFORE = "before"
    AFTER = "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreEdges(Params):
    """Score an outline just inside engraved areas, so that their border is crisp.

    Ends of rows make a rough edge; a line along it smooths it. The line keeps half a spot inside
    the drawn edge, with its corners, on a layer of its own. Touching or overlapping shapes of one
    layer, such as zones, get one outline. A border of two layers is scored once, in the layer
    marked first. After compensate-spot, which insets the edge already, give inset: 0 mm.
    """

    name: ClassVar = "score-edges"
    contract: ClassVar = Contract(keeps=frozenset(CORE) - {INTERLEAVED})

    inset: Annotated[
        Length | None,
        Ge(0),
        Doc("how far the line keeps inside the edge; without it half the machine's spot"),
    ] = None
    when: Annotated[When, Doc("mark the outline before or after the engraving of its layer")] = (
        When.AFTER
    )
    inner_borders: Annotated[
        bool, Doc("also score, once, the borders between touching shapes of one layer")
    ] = False
    settings: Annotated[
        Settings, Doc("what differs from the layer's settings of scoring, such as the power")
    ] = Settings()

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Add a layer of outlines beside each layer that has engraved areas.

        Raises:
            Refusal: inset and spot of the machine are both missing.
        """
        chosen = selected_areas(artwork, self)
        groups = [
            group
            for layer in artwork.layers
            for group in self._groups([shape for shape in chosen if shape.layer == layer.name])
        ]
        inset = self._inset(bench) if groups else 0.0
        areas = [without_slivers(union([s.geometry for s in group])) for group in groups]
        lines = inset_outlines(areas, inset)
        layers = _layer_names(artwork, groups)
        names = unique_ids(
            [f"{group[0].id}-edge" for group in groups], [s.id for s in artwork.shapes]
        )
        edges = [
            Shape(
                id=name,
                layer=layers[group[0].layer],
                operation=Operation.SCORE,
                geometry=line,
                sources=tuple(source for shape in group for source in shape.sources),
            )
            for name, group, line in zip(names, groups, lines, strict=True)
            if not line.is_empty
        ]
        changes = [Change(layer=s.layer, added=amount_of(s), why="edges scored") for s in edges]
        used = {layer: name for layer, name in layers.items() if name in {s.layer for s in edges}}
        return Outcome(
            artwork=replace(
                artwork,
                shapes=(*artwork.shapes, *edges),
                layers=tuple(one for layer in artwork.layers for one in self._beside(layer, used)),
            ),
            findings=tuple(edge_findings(groups, areas, edges, inset)),
            changes=tuple(changes),
        )

    def _groups(self, shapes: Sequence[Shape]) -> list[list[Shape]]:
        """Shapes that get one outline together."""
        if self.inner_borders:
            return [[shape] for shape in shapes]
        near = groups_within([shape.geometry for shape in shapes], 0.0)
        return [[shapes[i] for i in group] for group in near]

    def _inset(self, bench: Bench) -> float:
        if self.inset is not None:
            return self.inset
        return half_spot(bench, "give score-edges inset: 0.03 mm")

    def _beside(self, layer: Layer, names: Mapping[str, str]) -> tuple[Layer, ...]:
        """A layer, with that of its outlines before or after it."""
        if layer.name not in names:
            return (layer,)
        scoring = {Operation.SCORE: self.settings.over(layer.of(Operation.SCORE))}
        edges = Layer(
            name=names[layer.name],
            operation=Operation.SCORE,
            settings={**layer.settings, **scoring},
        )
        return (edges, layer) if self.when is When.BEFORE else (layer, edges)


def _layer_names(artwork: Artwork, groups: Sequence[Sequence[Shape]]) -> dict[str, str]:
    layers = list(dict.fromkeys(group[0].layer for group in groups))
    taken = [layer.name for layer in artwork.layers]
    names = unique_ids([f"{layer}-edges" for layer in layers], taken)
    return dict(zip(layers, names, strict=True))


_SPECK = 1e-3
"""Pieces below this, in mm², are not worth a finding."""


def edge_findings(
    groups: Sequence[Sequence[Shape]],
    areas: Sequence[MultiPolygon],
    edges: Sequence[Shape],
    inset: float,
) -> Iterator[Finding]:
    """All findings about areas, group by group, and their outlines.

    Args:
        groups: shapes that are outlined as one.
        areas: their areas.
        edges: the outlines, without the empty ones.
        inset: how far they keep inside, mm.
    """
    if not groups:
        yield note("no-edges", "no engraved area is chosen, so there is no edge to score")
        return
    for layer in dict.fromkeys(shape.layer for shape in edges):
        mine = [shape for shape in edges if shape.layer == layer]
        length = sum(shape.geometry.length for shape in mine)
        message = (
            f"{length:.1f} mm of outline will be scored {digits(inset)} mm inside the edge, on a "
            f"layer of their own: {layer}"
        )
        yield note("edges-scored", message, elements=[shape.id for shape in mine])
    yield from _thin(groups, areas, inset)


def _thin(
    groups: Sequence[Sequence[Shape]], areas: Sequence[MultiPolygon], inset: float
) -> Iterator[Finding]:
    """Places too thin for a line on either side."""
    if inset <= 0:
        return
    found = [opening_residue(area, 2 * inset).pieces for area in areas]
    pieces = np.concatenate([mine[shapely.area(mine) > _SPECK] for mine in found])
    if not len(pieces):
        return
    ids = [
        shape.id
        for group, mine in zip(groups, found, strict=True)
        for shape in group
        if (shapely.area(mine) > _SPECK).any()
    ]
    message = (
        f"no scored edge in {counted(len(pieces), 'place')} narrower than {digits(2 * inset)} mm"
    )
    remedy = "thicken them in the drawing, give score-edges a smaller inset, or score them as lines"
    at = shapely.point_on_surface(pieces[int(np.argmax(shapely.area(pieces)))])
    yield warn("edge-left-out", message, remedy, elements=ids, spot=(at.x, at.y))
