"""Embedded pictures in the output: one group after all that is marked, placed in mm.

An upright picture has x, y, width and height; one that is turned, mirrored or skewed stands at
(0, 0) under a transform, since there is no other way to say it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.model.artwork.picture import LAYER
from preprocess.write.svg.names import escaped
from preprocess.write.svg.numbers import number

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.picture import Picture
    from preprocess.write.svg.names import Names

XLINK = ' xmlns:xlink="http://www.w3.org/1999/xlink"'

_FINER = 4
"""A transform's factors have this many more decimals than lengths: they are multiplied by them."""


def picture_group(artwork: Artwork, names: Names) -> list[str]:
    """The lines of the group; none where there is no picture."""
    if not artwork.pictures:
        return []
    name = names.take(LAYER)
    images = [_image(one, artwork, names.take(one.id)) for one in artwork.pictures]
    return [f'  <g id="{name}">', f"    <title>{escaped(LAYER)}</title>", *images, "  </g>"]


def _image(picture: Picture, artwork: Artwork, name: str) -> str:
    place = _place(picture, artwork.page, artwork.drawing.decimals)
    return (
        f'    <image id="{name}" {place} preserveAspectRatio="none" xlink:href="{picture.href}"/>'
    )


def _place(picture: Picture, page: Page, decimals: int) -> str:
    a, b, c, d, e, f = picture.matrix
    width, height = picture.size
    x, y = number(e - page.left, decimals), number(f - page.top, decimals)
    size = f'width="{number(width, decimals)}" height="{number(height, decimals)}"'
    if picture.is_upright:
        return f'x="{x}" y="{y}" {size}'
    turn = (a / width, b / width, c / height, d / height)
    factors = " ".join(number(factor, decimals + _FINER) for factor in turn)
    return f'x="0" y="0" {size} transform="matrix({factors} {x} {y})"'
