"""Marks of our own in the output, which no element of the drawing drew: anchors, guides."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import MultiLineString

    from preprocess.model.artwork.artwork import Artwork


class OwnMark(StrEnum):
    """Names of the layers of our own marks; another number follows where a name is taken."""

    ANCHORS = "anchors"
    CHECK_SQUARE = "check-square"
    PART = "part-outline"


def own_mark(artwork: Artwork, kind: OwnMark) -> Shape | None:
    """The mark of that kind; None without one. What the drawing holds has a source."""
    own = (shape for shape in artwork.shapes if not shape.sources)
    return next((shape for shape in own if _is_called(shape.id, kind)), None)


def own_kind(shapes: Iterable[Shape]) -> OwnMark | None:
    """Kind of our marks that these shapes are; None for what the drawing holds."""
    ids = [shape.id for shape in shapes if not shape.sources]
    return next((kind for kind in OwnMark for one in ids if _is_called(one, kind)), None)


def new_mark(
    artwork: Artwork,
    kind: OwnMark,
    lines: MultiLineString,
    operation: Operation = Operation.GUIDE,
) -> Shape:
    """A mark for a layer of its own, numbered where the artwork has a layer of that name."""
    names, name, count = {layer.name for layer in artwork.layers}, str(kind), 1
    while name in names:
        count += 1
        name = f"{kind}-{count}"
    return Shape(id=name, layer=name, operation=operation, geometry=lines, sources=())


def guide_layer(mark: Shape) -> Layer:
    """The layer of a mark that is a guide."""
    return Layer(name=mark.layer, operation=Operation.GUIDE, settings={})


def _is_called(name: str, kind: OwnMark) -> bool:
    return name == kind or name.removeprefix(f"{kind}-").isdecimal()
