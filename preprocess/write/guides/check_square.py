"""Check squares: guides of known size, to be measured once the laser software has the file.

There are two, above and below everything else, as far from the middle of what is marked: so the
middle of the page and of the drawing's box stay, and all that was said about placing holds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString

from preprocess.findings import note
from preprocess.geometry.base.bounds import joint_bounds
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.own_marks import OwnMark, guide_layer, new_mark, own_mark
from preprocess.model.artwork.settings import Operation
from preprocess.units import digits
from preprocess.write.guides.grown_page import grown_to_hold

if TYPE_CHECKING:
    from shapely import Geometry

    from preprocess.findings import Finding
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.shape import Shape

SQUARE_SIDE = 10.0
"""mm"""

_GAP = 3.0
"""mm between a square and the nearest other thing."""


def with_squares(artwork: Artwork) -> tuple[Artwork, tuple[Finding, ...]]:
    """The artwork with its squares on a guide layer of their own, and what to say of it.

    Where there is no room above and below, the page grows by the same on both sides.
    """
    marks = joint_bounds(_marked(artwork))
    if marks is None:
        return artwork, ()
    squares = _squares(marks, artwork)
    page = grown_to_hold(artwork, [squares])
    shape = new_mark(artwork, OwnMark.CHECK_SQUARE, squares)
    added = replace(
        artwork,
        page=page,
        shapes=(*artwork.shapes, shape),
        layers=(*artwork.layers, guide_layer(shape)),
    )
    return added, (_told(shape.layer, artwork.page, page),)


def check_square(artwork: Artwork) -> Shape | None:
    """The squares of an artwork; None if it has none."""
    return own_mark(artwork, OwnMark.CHECK_SQUARE)


def written_artwork(artwork: Artwork) -> Artwork:
    """The artwork as it stands in the file: of the guides only our own, none of the drawing."""
    shapes = (s for s in artwork.shapes if s.operation is not Operation.GUIDE or not s.sources)
    return replace(artwork, shapes=tuple(shapes))


def _marked(artwork: Artwork) -> list[Geometry]:
    shapes = [shape for output in output_layers(artwork) for shape in output.shapes]
    return [g for shape in shapes for g in (shape.geometry, shape.bars) if g is not None]


def _squares(marks: Bounds, artwork: Artwork) -> MultiLineString:
    everything = joint_bounds([shapely.box(*marks), *artwork.parts, *artwork.keep_off]) or marks
    x, y = (marks[0] + marks[2]) / 2, (marks[1] + marks[3]) / 2
    away = max(everything[3] - y, y - everything[1]) + _GAP
    tops = (y - away - SQUARE_SIDE, y + away)
    boxes = (
        shapely.box(x - SQUARE_SIDE / 2, top, x + SQUARE_SIDE / 2, top + SQUARE_SIDE)
        for top in tops
    )
    return MultiLineString([box.exterior.coords for box in boxes])


def _told(name: str, before: Page, after: Page) -> Finding:
    ways = (
        ("left and right", before.left - after.left),
        ("above and below", before.top - after.top),
    )
    grown = [f"{digits(mm, 4)} mm {way}" for way, mm in ways if mm]
    room = f"; the page grew by {' and '.join(grown)}" if grown else ""
    message = (
        f"two squares of {digits(SQUARE_SIDE)} mm stand above and below the art, on the layer "
        f"{name}"
    )
    remedy = "measure one after import, and switch off the output of its layer"
    return note("check-square", message + room, remedy)
