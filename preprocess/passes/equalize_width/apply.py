"""Artwork with its bars: which shape carries them, and which may have none yet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from preprocess.errors import Refusal
from preprocess.geometry.base.normalise import NOTHING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.shape import Shape
    from preprocess.passes.equalize_width.lay_out import GroupBars
    from preprocess.passes.equalize_width.room import PartExtent


class BarLayout(NamedTuple):
    """Bars of all groups, the sides of the parts by scan angle, and the page that holds them."""

    barred: tuple[GroupBars, ...]
    sides: Mapping[float, PartExtent]
    page: Page


def with_bars(artwork: Artwork, laid: BarLayout) -> Artwork:
    """Give bars to the first shape of their group; a shape that has none to get keeps its own."""
    bars = {id(entry.group.shapes[0]): entry.bars for entry in laid.barred}
    shapes = (replace(shape, bars=bars.get(id(shape), _own(shape))) for shape in artwork.shapes)
    return replace(artwork, page=laid.page, shapes=tuple(shapes))


def barless(artwork: Artwork) -> Artwork:
    """The artwork whose rows need no bars: each engraved area says so."""
    shapes = (
        replace(shape, bars=NOTHING) if shape.is_engraved_area and shape.bars is None else shape
        for shape in artwork.shapes
    )
    return replace(artwork, shapes=tuple(shapes))


def _own(shape: Shape) -> MultiPolygon | None:
    """Bars of a shape that gets none; one without any area is done with all the same."""
    empty = shape.is_engraved_area and shape.geometry.is_empty
    return NOTHING if empty and shape.bars is None else shape.bars


def expect_first(artwork: Artwork, barred: Sequence[GroupBars]) -> None:
    """See that bars of an earlier step neither go nor are struck twice.

    Raises:
        Refusal: they would.
    """
    for shape in artwork.shapes:
        old = shape.bars or NOTHING
        if not old.is_empty and any(
            shape in entry.group.shapes or old.intersects(entry.bars) for entry in barred
        ):
            raise Refusal(
                f"bars of an earlier step stand beside layer {shape.layer!r} already",
                "let one equalize-width do all layers, which puts bars side by side",
            )
