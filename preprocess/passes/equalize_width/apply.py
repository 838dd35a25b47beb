"""Artwork with its bars: one shape of each group carries them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from preprocess.errors import Refusal
from preprocess.geometry.base.normalise import NOTHING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.passes.equalize_width.lay_out import GroupBars
    from preprocess.passes.equalize_width.room import PartExtent


class BarLayout(NamedTuple):
    """Bars of all groups, the sides of the parts by scan angle, and the page that holds them."""

    barred: tuple[GroupBars, ...]
    sides: Mapping[float, PartExtent]
    page: Page


def with_bars(artwork: Artwork, laid: BarLayout) -> Artwork:
    """Give bars to the first shape of their group; an empty shape gets an empty set.

    Other shapes keep their own.
    """
    firsts = [(entry.group.shapes[0], entry.bars) for entry in laid.barred]
    barred = artwork.exchanged((shape, [replace(shape, bars=bars)]) for shape, bars in firsts)
    return replace(barless(barred, only_empty=True), page=laid.page)


def barless(artwork: Artwork, *, only_empty: bool = False) -> Artwork:
    """The artwork with an empty set of bars on each engraved area without bars."""
    done = [
        shape
        for shape in artwork.shapes
        if shape.is_engraved_area and shape.bars is None
        if shape.geometry.is_empty or not only_empty
    ]
    return artwork.exchanged((shape, [replace(shape, bars=NOTHING)]) for shape in done)


def expect_first(artwork: Artwork, barred: Sequence[GroupBars]) -> None:
    """Expect that new bars neither replace nor strike those of an earlier step.

    Raises:
        Refusal: they do.
    """
    for shape in artwork.shapes:
        old = shape.bars or NOTHING
        if not old.is_empty and any(
            shape in entry.group.shapes or old.intersects(entry.bars) for entry in barred
        ):
            raise Refusal(
                f"layer {shape.layer!r} already has bars of an earlier step",
                "use one equalize-width for all layers; it puts their bars side by side",
            )
