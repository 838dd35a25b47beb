"""Output layers: the colours in the laser software, in marking order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.model.artwork.settings import Layer, Operation, Settings

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputLayer:
    """One colour layer: shapes of one operation, layer and level, with the settings to type in.

    `id` is the layer's name, with the operation where it is not the layer's own and with the
    level where there are levels; it is unique in the file.
    """

    id: str
    layer: str
    operation: Operation
    level: int | None
    settings: Settings
    shapes: tuple[Shape, ...]

    @property
    def in_rounds(self) -> bool:
        """True if it holds rounds of rows, which are marked one after another."""
        return any(shape.round is not None for shape in self.shapes)

    @property
    def in_greys(self) -> bool:
        """True if it holds an image of greys, which set the power of every cell."""
        return any(shape.grey is not None for shape in self.shapes)


def output_layers(artwork: Artwork, *, guides: bool = False) -> tuple[OutputLayer, ...]:
    """Group the shapes by layer, operation and level, in marking order.

    Order: the layers' order; within a layer engraving, scoring, cutting, guides; within these
    the levels from the widest zone on, or in the layer's own order. Guides are left out unless
    asked for.
    """
    found: list[OutputLayer] = []
    for layer in artwork.layers:
        shapes = artwork.shapes_of(layer.name)
        for operation in Operation:
            if operation is Operation.GUIDE and not guides:
                continue
            found.extend(_levels(layer, operation, shapes))
    return tuple(found)


def _levels(layer: Layer, operation: Operation, shapes: tuple[Shape, ...]) -> list[OutputLayer]:
    mine = [shape for shape in shapes if shape.operation is operation]
    place = {level: number for number, level in enumerate(layer.order)}
    levels = sorted({shape.level for shape in mine}, key=lambda x: (place.get(x or 0, 0), x or 0))
    found = []
    for level in levels:
        here = tuple(shape for shape in mine if shape.level == level)
        settings = _at_level(layer, operation, level)
        found.append(
            OutputLayer(
                id=_id(layer, operation, level),
                layer=layer.name,
                operation=operation,
                level=level,
                settings=_with_rows_of_image(settings, here),
                shapes=here,
            )
        )
    return found


def _with_rows_of_image(settings: Settings, shapes: tuple[Shape, ...]) -> Settings:
    """Of an image the rows are as far apart as its cells are high."""
    images = [shape.grey for shape in shapes if shape.grey is not None]
    return replace(settings, pitch=images[0].cell[1]) if images else settings


def _id(layer: Layer, operation: Operation, level: int | None) -> str:
    own = layer.operation or Operation.ENGRAVE
    name = layer.name if operation is own else f"{layer.name}-{operation}"
    return name if level is None else f"{name}-{level}"


def _at_level(layer: Layer, operation: Operation, level: int | None) -> Settings:
    settings = layer.of(operation)
    if level is not None:
        share = layer.shares[level - 1] if layer.shares else None
    else:
        share = layer.plain_share if operation is Operation.ENGRAVE else None
    if share is None or settings.power is None:
        return settings
    return replace(settings, power=round(settings.power * share, 12))
