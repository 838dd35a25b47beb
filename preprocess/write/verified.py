"""SVG that is read back and compared before it leaves the program."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.write.guides.check_square import written_artwork
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.model.artwork.artwork import Artwork


class Miswritten(RuntimeError):  # noqa: N818 - says what it is
    """The written file differs from the artwork: our bug."""


def verified_svg(artwork: Artwork, colours: Mapping[str, str]) -> bytes:
    """The artwork as SVG, without guides of the drawing.

    Raises:
        Miswritten: the bytes, read back, differ from the artwork.
    """
    artwork = written_artwork(artwork)
    data = svg_bytes(artwork, colours=colours, guides=True)
    wrongs = disagreements(artwork, colours, data, guides=True)
    if wrongs:
        raise Miswritten(f"the written file differs from the artwork: {wrongs[0]}")
    return data
