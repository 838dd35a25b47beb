"""SVG out: plain SVG 1.1 in millimetres that any laser software reads alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.write.svg.decimals import decimal_text, decimal_texts
from preprocess.write.svg.embedded_images import XLINK_ATTRIBUTE, picture_group
from preprocess.write.svg.grey_images import grey_element
from preprocess.write.svg.rings import area_rings, written_lines
from preprocess.write.svg.xml_text import UniqueIds, escape_text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Points
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.artwork.shape import Shape

_HAIRLINE = "0.1"
"""Width in mm with which traced lines are drawn: for the eye only."""

_AT_ONCE = 2000
"""Areas that are rounded together: enough to be quick, few enough to be small."""


def svg_bytes(artwork: Artwork, *, colours: Mapping[str, str], guides: bool = False) -> bytes:
    """Write the artwork as SVG 1.1, one group per output layer, one path or image per shape.

    Embedded pictures stand in a group of their own at the end.

    Args:
        artwork: what is to be marked, in mm.
        colours: #rrggbb by output id; one for each layer that is written.
        guides: write guide shapes too.

    Raises:
        KeyError: a layer has no colour.
        ValueError: a line is to be engraved, or a coordinate is not finite.
    """
    outputs = output_layers(artwork, guides=guides)
    names = UniqueIds()
    ids = [names.take(output.id) for output in outputs]
    lines = [_head(artwork)]
    for output, name in zip(outputs, ids, strict=True):
        lines.extend(_group(output, name, colours[output.id], artwork, names))
    lines.extend(picture_group(artwork, names))
    return "\n".join([*lines, "</svg>", ""]).encode()


def _head(artwork: Artwork) -> str:
    page, decimals = artwork.page, artwork.drawing.decimals
    pictured = artwork.pictures or any(shape.grey is not None for shape in artwork.shapes)
    links = XLINK_ATTRIBUTE if pictured else ""
    width, height = decimal_text(page.width, decimals), decimal_text(page.height, decimals)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg"{links} version="1.1"'
        f' width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
    )


def _group(
    output: OutputLayer, name: str, colour: str, artwork: Artwork, names: UniqueIds
) -> list[str]:
    paint = _paint(output, colour)
    paths = []
    for shape, data in zip(output.shapes, _data(output.shapes, artwork), strict=True):
        if shape.grey is not None:
            paths.append(grey_element(shape.grey, artwork, names.take(shape.id)))
        elif data:
            paths.append(f'    <path id="{names.take(shape.id)}" {paint} d="{data}"/>')
    if not paths:
        return []
    title = f"    <title>{escape_text(output.id)}</title>"
    return [f'  <g id="{name}">', title, *paths, "  </g>"]


def _paint(output: OutputLayer, colour: str) -> str:
    if output.operation is Operation.ENGRAVE:
        return f'fill="{colour}" fill-rule="evenodd" stroke="none"'
    return f'fill="none" stroke="{colour}" stroke-width="{_HAIRLINE}"'


def _data(shapes: Sequence[Shape], artwork: Artwork) -> list[str]:
    """Path data of each shape; none of an image of greys, and of what the grid swallows."""
    page, decimals = artwork.page, artwork.drawing.decimals
    found = dict.fromkeys(range(len(shapes)), "")
    areas = []
    for number, shape in enumerate(shapes):
        if shape.grey is not None:
            continue
        if shape.operation is Operation.ENGRAVE:
            if not shape.is_area:
                raise ValueError(f"{shape.id}: a line cannot be engraved")
            areas.append(number)
        else:
            lines = written_lines(shape, page, decimals)
            found[number] = "\n".join(_subpath(p, decimals, closed=c) for p, c in lines)
    for first in range(0, len(areas), _AT_ONCE):
        some = areas[first : first + _AT_ONCE]
        rings = area_rings([shapes[number] for number in some], page, decimals)
        for number, own in zip(some, rings, strict=True):
            found[number] = "\n".join(_subpath(ring, decimals, closed=True) for ring in own)
    return list(found.values())


def _subpath(points: Points, decimals: int, *, closed: bool) -> str:
    texts = decimal_texts(points.ravel().tolist(), decimals)
    pairs = map(" ".join, zip(texts[::2], texts[1::2], strict=True))
    return "M" + " L".join(pairs) + (" Z" if closed else "")
