"""Artwork: all that the drawing paints, as geometry in millimetres; passes map it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

from annotated_types import Ge, Le

from preprocess.model.artwork.picture import Images
from preprocess.model.declared import Declared, Doc
from preprocess.units import Length, Share

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.picture import Picture
    from preprocess.model.artwork.settings import Layer
    from preprocess.model.artwork.shape import Matrix, Shape

    Exchange = tuple[Shape, Sequence[Shape]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing(Declared):
    """Reading and writing of the drawing's numbers and paints."""

    tolerance: Annotated[
        Length, Ge(1e-4), Doc("largest distance of a flattened curve from the drawn one")
    ] = 0.005
    px_per_inch: Annotated[
        float, Ge(1), Le(10_000), Doc("units per inch of bare numbers: 72, 90 or 96")
    ] = 96.0
    decimals: Annotated[int, Ge(1), Le(6), Doc("decimals of a millimetre in the output")] = 4
    faintest: Annotated[
        Share, Ge(0), Le(1), Doc("paint of less opacity than this is not marked")
    ] = 0.1
    images: Annotated[
        Images,
        Doc(
            "embedded pictures: keep (carry through on a layer of their own), drop, or grey (mark "
            "them by their greys, as the machine's grey says)"
        ),
    ] = Images.KEEP
    page_colour: Annotated[str, Doc("paint of this colour erases the artwork under it")] = "#ffffff"
    page_within: Annotated[
        Share, Ge(0), Le(0.5), Doc("paint whose red, green, blue differ no more counts as it")
    ] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The page in mm. `left` and `top` are its corner in the drawing's own coordinates.

    `size_from` names in words the source of the physical size. `counted_from` is the corner that
    the place of the field is counted from, where marks of our own made the page grow.
    """

    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    size_from: str = "width and height of the drawing"
    counted_from: tuple[float, float] | None = None

    @property
    def centre(self) -> tuple[float, float]:
        """The middle of the page in artwork coordinates (x right, y down)."""
        return self.left + self.width / 2, self.top + self.height / 2

    def grown(self, wide: float, high: float) -> Page:
        """The page, grown by `wide` mm on the left and right and `high` mm at top and bottom."""
        return replace(
            self,
            left=self.left - wide,
            top=self.top - high,
            width=self.width + 2 * wide,
            height=self.height + 2 * high,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """Shapes in painting and marking order, their layers, page, silhouettes, keep-off areas.

    All coordinates are mm, x to the right, y down, rounded once to 1e-6 mm when read.
    `parts` and `keep_off` are never marked; what models of parts keep off comes first, an area to
    each that does. `poses` map the model of each part to its place, None where it has none; there
    are none without models. `layers` are in output order. `pictures` are carried through
    untouched; no figure of the artwork counts them.
    """

    page: Page
    shapes: tuple[Shape, ...]
    layers: tuple[Layer, ...]
    parts: tuple[MultiPolygon, ...] = ()
    keep_off: tuple[MultiPolygon, ...] = ()
    poses: tuple[Matrix | None, ...] = ()
    drawing: Drawing = Drawing()
    pictures: tuple[Picture, ...] = ()

    def layer(self, name: str) -> Layer:
        """The layer of that name.

        Raises:
            KeyError: no such layer.
        """
        for layer in self.layers:
            if layer.name == name:
                return layer
        raise KeyError(name)

    def shapes_of(self, layer: str) -> tuple[Shape, ...]:
        """Shapes of one layer, in order."""
        return tuple(shape for shape in self.shapes if shape.layer == layer)

    def exchanged(self, exchanges: Iterable[Exchange]) -> Artwork:
        """The artwork with new shapes in the places of old ones; the others keep their order.

        Args:
            exchanges: each old shape, the very object, with its none, one or several successors.
        """
        return replace(self, shapes=tuple(exchange_shapes(self.shapes, exchanges)))


def exchange_shapes(shapes: Iterable[Shape], exchanges: Iterable[Exchange]) -> list[Shape]:
    """Shapes with new ones in the places of old ones, see `Artwork.exchanged`."""
    new = {id(old): some for old, some in exchanges}
    return [one for shape in shapes for one in new.get(id(shape), (shape,))]
