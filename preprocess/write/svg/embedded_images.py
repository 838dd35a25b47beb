"""Embedded pictures in the output: one group after all that is marked, placed in mm.

An upright picture has x, y, width and height; one that is turned, mirrored or skewed stands at
(0, 0) under a transform, since there is no other way to say it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.model.artwork.picture import LAYER
from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.picture import Picture
    from preprocess.write.svg.xml_text import UniqueIds

XLINK_ATTRIBUTE = ' xmlns:xlink="http://www.w3.org/1999/xlink"'

_FINER = 4
"""A transform's factors have this many more decimals than lengths: they are multiplied by them."""


def picture_group(artwork: Artwork, names: UniqueIds) -> list[str]:
    """The lines of the group; none where there is no picture."""
    if not artwork.pictures:
        return []
    name = names.take(LAYER)
    images = [_image(one, artwork, names.take(one.id)) for one in artwork.pictures]
    return [f'  <g id="{name}">', f"    <title>{escape_text(LAYER)}</title>", *images, "  </g>"]


def _image(picture: Picture, artwork: Artwork, name: str) -> str:
    place = _place(picture, artwork.page, artwork.drawing.decimals)
    return (
        f'    <image id="{name}" {place} preserveAspectRatio="none" xlink:href="{picture.href}"/>'
    )


def _place(picture: Picture, page: Page, decimals: int) -> str:
    a, b, c, d, e, f = picture.matrix
    width, height = picture.size
    x, y = decimal_text(e - page.left, decimals), decimal_text(f - page.top, decimals)
    size = f'width="{decimal_text(width, decimals)}" height="{decimal_text(height, decimals)}"'
    if picture.is_upright:
        return f'x="{x}" y="{y}" {size}'
    turn = (a / width, b / width, c / height, d / height)
    factors = " ".join(decimal_text(factor, decimals + _FINER) for factor in turn)
    return f'x="0" y="0" {size} transform="matrix({factors} {x} {y})"'
