"""Images of greys, read back: every pixel, and the corners."""

from __future__ import annotations

import base64
import binascii
from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from preprocess.loading.png.grey_png import NotGrey, decode_greys
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.grey import GreyImage
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.write.verify.parsing import ReadImage, ReadLayer

_NEAR = 3e-4
"""mm that a corner may be off: place, size and transform are rounded to 1e-4 mm."""

_SHARP = ("optimizeSpeed", "image-rendering:pixelated")
_HEAD = "data:image/png;base64,"


def wrong_images(output: OutputLayer, artwork: Artwork, layer: ReadLayer) -> Iterator[str]:
    """Differences between the images of a layer and those that were meant."""
    images = deque(layer.images)
    for shape in output.shapes:
        if shape.grey is None:
            continue
        if not images:
            yield f"layer {output.id}: {shape.id} is missing"
            continue
        for wrong in _wrongs(shape.grey, artwork, images.popleft()):
            yield f"layer {output.id}: {shape.id}: {wrong}"
    for image in images:
        yield f"layer {output.id}: image {image.id} was not meant"


def _wrongs(wanted: GreyImage, artwork: Artwork, image: ReadImage) -> Iterator[str]:
    if image.rendering != _SHARP:
        yield f"it is drawn {image.rendering} instead of {_SHARP}"
    shift = np.array((artwork.page.left, artwork.page.top))
    off = np.abs(image.corners - (np.array(wanted.corners) - shift)).max()
    if not off <= _NEAR:
        yield f"a corner is off by {digits(off, 3)} mm"
    try:
        data = base64.b64decode(image.href.removeprefix(_HEAD), validate=True)
        found = decode_greys(data)
    except (NotGrey, binascii.Error) as error:
        yield f"its data cannot be read: {error}"
        return
    if (found.columns, found.rows) != (wanted.columns, wanted.rows):
        yield f"it has {found.columns} × {found.rows} pixels"
    elif found.greys != wanted.greys:
        one, other = (np.frombuffer(greys, np.uint8) for greys in (found.greys, wanted.greys))
        yield f"{int((one != other).sum())} of its pixels are not those that were meant"
