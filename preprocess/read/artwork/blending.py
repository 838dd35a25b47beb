"""Blending: whether paint with a blend mode ends in marked or bare, over the page and artwork."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.read.artwork.knockout import knock_out
from preprocess.read.style.blend_modes import LIGHTNESS_MODES, blended_colour

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.artwork.painted_geometry import PaintedGeometry
    from preprocess.read.messages.remarks import Remarks


def blend(
    pieces: Sequence[PaintedGeometry], options: ReadingOptions, remarks: Remarks
) -> list[PaintedGeometry]:
    """Pieces without blend modes that are marked as the blended ones would be.

    The page counts as painted in its colour. Where paint would be marked in one place and erase in
    another, or is shaded, its mode is ignored, and a remark says so.
    """
    if all(piece.painted.blend is None for piece in pieces):
        return list(pieces)
    found: list[PaintedGeometry] = []
    for piece in pieces:
        mode = piece.painted.blend
        if mode is None or piece.blank:
            found.append(piece)
            continue
        bare = _bare(piece, found, options)
        if bare is None:
            remarks.on("blend-ignored", piece.painted, mode.mode)
            found.append(piece)
        elif bare == {False}:
            found.append(piece)
        elif bare == {True} and _over_others(piece, found, options):
            ink = replace(piece.ink, colour=options.drawing.page_colour.lower(), alpha=1.0)
            found.append(replace(piece, ink=ink))
        else:
            remarks.on("blended-away", piece.painted, mode.mode)
            found = _cleared(piece, found, options, remarks)
    return found


def _bare(
    piece: PaintedGeometry, below: Sequence[PaintedGeometry], options: ReadingOptions
) -> set[bool] | None:
    """Test whether blended paint ends bare: over the page, and over artwork where it differs.

    {True} erases, {False} is marked, both leave all as it is; None cannot be told.
    """
    mode, page = piece.painted.blend, options.drawing.page_colour.lower()
    if mode is None or not mode.alone or piece.ink.shaded:
        return None
    if mode.mode in LIGHTNESS_MODES and page not in _EXTREMES:
        return None
    others = _over_others(piece, below, options)
    if any(one.ink.shaded for one in others):
        return None
    ink = (piece.ink.colour, piece.ink.alpha)
    over_page = blended_colour(mode.mode, page, *ink) == page
    over_art = {blended_colour(mode.mode, o.ink.colour, *ink) == page for o in others}
    if not over_page and True in over_art:
        return None
    return None if len(over_art) > 1 else {over_page, *over_art}


_EXTREMES = frozenset({"#ffffff", "#000000"})


def _over_others(
    piece: PaintedGeometry, below: Sequence[PaintedGeometry], options: ReadingOptions
) -> list[PaintedGeometry]:
    """Artwork under a piece that does not belong to the same blended group."""
    page, own = options.drawing.page_colour.lower(), piece.painted.blend
    others = [
        one
        for one in below
        if one.ink.colour != page and not one.blank and one.painted.blend != own
    ]
    near = shapely.dwithin([one.geometry for one in others], piece.geometry, piece.reach)
    return [one for one, close in zip(others, near, strict=True) if close]


def _cleared(
    piece: PaintedGeometry, below: list[PaintedGeometry], options: ReadingOptions, remarks: Remarks
) -> list[PaintedGeometry]:
    """Pieces below, without what the piece hides of its own group."""
    ink = replace(piece.ink, colour=options.drawing.page_colour.lower())
    cover = replace(piece, ink=ink, blank=True)
    found = []
    for one in below:
        same = one.painted.blend == piece.painted.blend and one.ink.colour != ink.colour
        found += knock_out([one, cover], options, remarks) if same else [one]
    return found
