"""Artwork of one layer whose areas are levels, marked at shares of its power."""

from shapely import MultiPolygon

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape


def in_levels(name: str, areas, settings: Settings, shares, page: Page) -> Artwork:
    """A layer of some name; its areas are levels 1, 2, … at their shares."""
    shapes = tuple(
        Shape(
            id=f"{name}-{n}",
            layer=name,
            operation=Operation.ENGRAVE,
            geometry=MultiPolygon([area]),
            sources=(),
            level=n,
        )
        for n, area in enumerate(areas, 1)
    )
    layer = Layer(
        name=name, operation=None, settings={Operation.ENGRAVE: settings}, shares=tuple(shares)
    )
    return Artwork(page=page, shapes=shapes, layers=(layer,))
