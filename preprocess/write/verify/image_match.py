"""Compares the pictures of a written file with those that were meant."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.model.artwork.picture import LAYER
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.write.verify.parsing import ReadLayer

_NEAR = 1.5
"""How many steps of the written grid a corner may be off: its place and its size are rounded."""


def wrong_pictures(artwork: Artwork, layer: ReadLayer | None) -> Iterator[str]:
    """What the layer of pictures holds otherwise than the artwork says."""
    images = layer.images if layer else ()
    if layer and (layer.paths or layer.title != LAYER):
        yield f"the layer of pictures holds paths or is titled {layer.title!r}"
    if len(images) != len(artwork.pictures):
        yield f"{len(images)} pictures instead of {len(artwork.pictures)}"
        return
    grid = 10.0**-artwork.drawing.decimals
    shift = np.array((artwork.page.left, artwork.page.top))
    for image, picture in zip(images, artwork.pictures, strict=True):
        if image.href != picture.href:
            yield f"picture {picture.id}: its data were changed"
        off = np.abs(image.corners - (np.array(picture.corners) - shift)).max()
        if not off <= _NEAR * grid:
            yield f"picture {picture.id}: a corner is off by {digits(off, 3)} mm"
