"""Images of greys in the output, each cell where its row is, and drawn without smoothing.

Programs that draw differ: one knows `optimizeSpeed`, another `pixelated`; so both are written.
"""

from __future__ import annotations

import base64
import math
from typing import TYPE_CHECKING

from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.png_bytes import png_bytes

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.grey import GreyImage

_LEAST = 4
"""Decimals of a millimetre at least, so that no row moves by a micrometre."""

_FINER = 4
"""More decimals for the factors of a transform: lengths are multiplied by them."""

_UNTURNED = 1e-12


def grey_element(image: GreyImage, artwork: Artwork, name: str) -> str:
    """The element of an image in its group."""
    decimals = max(_LEAST, artwork.drawing.decimals)
    data = base64.b64encode(png_bytes(image)).decode("ascii")
    return (
        f'    <image id="{name}" {_place(image, artwork, decimals)} preserveAspectRatio="none"'
        ' image-rendering="optimizeSpeed" style="image-rendering:pixelated"'
        f' xlink:href="data:image/png;base64,{data}"/>'
    )


def _place(image: GreyImage, artwork: Artwork, decimals: int) -> str:
    a, b, c, d, e, f = image.matrix
    page, (cell, pitch) = artwork.page, image.cell
    x, y = decimal_text(e - page.left, decimals), decimal_text(f - page.top, decimals)
    width = decimal_text(cell * image.columns, decimals)
    height = decimal_text(pitch * image.rows, decimals)
    size = f'width="{width}" height="{height}"'
    if a > 0 and d > 0 and math.hypot(b, c) < _UNTURNED:
        return f'x="{x}" y="{y}" {size}'
    turn = (a / cell, b / cell, c / pitch, d / pitch)
    factors = " ".join(decimal_text(factor, decimals + _FINER) for factor in turn)
    return f'x="0" y="0" {size} transform="matrix({factors} {x} {y})"'
