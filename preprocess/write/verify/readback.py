"""Reads the written bytes back and compares them with what was meant, path by path.

The parser shares no code with the writer. Any disagreement is a fault of ours.
"""

from __future__ import annotations

import re
from collections import Counter, deque
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.picture import LAYER
from preprocess.units import digits
from preprocess.write.verify.expected import expected_paths
from preprocess.write.verify.grey_images import wrong_images
from preprocess.write.verify.parsing import ForeignMarkup, parse_written
from preprocess.write.verify.path_sums import PathSums, path_sums
from preprocess.write.verify.ring_match import Rings, rings_of_paths, same_lines, same_rings

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.write.verify.expected import ExpectedPath
    from preprocess.write.verify.parsing import ReadDrawing, ReadLayer, ReadPath


_NEAR = 1.5
"""Steps of the written grid that a corner may be off: its place and its size are rounded."""

_AT_ONCE = 2000
"""Paths that are measured together: enough to be quick, few enough to be small."""


def disagreements(
    artwork: Artwork, colours: Mapping[str, str], data: bytes, *, guides: bool = False
) -> tuple[str, ...]:
    """Differences of the written bytes from the artwork; empty when all agrees.

    Compared are page, layers and their order, ids, colours, operations, pictures; of each path
    the area and its first moments, the length, the box, and every ring. Tolerances are those of
    rounding to the written grid: half the grid times the perimeter for areas.
    """
    try:
        drawing = parse_written(data)
    except ForeignMarkup as error:
        return (str(error),)
    grid = 10.0**-artwork.drawing.decimals
    found = list(_page(drawing, artwork.page, grid))
    read = list(drawing.layers)
    pictured = read.pop() if artwork.pictures and read and read[-1].images else None
    found.extend(_pictures(artwork, pictured))
    for output in output_layers(artwork, guides=guides):
        drawn = [shape for shape in output.shapes if shape.grey is None]
        wanted = expected_paths(drawn, artwork)
        negligible = not output.in_greys and all(one.negligible for one in wanted)
        if negligible and not (read and read[0].title == output.id):
            continue
        if not read:
            found.append(f"layer {output.id} is missing")
            continue
        found.extend(wrong_images(output, artwork, read[0]))
        named = list(zip(wanted, [shape.id for shape in drawn], strict=True))
        layer = read.pop(0)
        paths = deque(_measured(layer, grid))
        found.extend(_titles(output, layer))
        found.extend(_paths(output, colours.get(output.id, "no colour"), named, paths))
    return (*found, *(f"layer {layer.title} was not meant" for layer in read), *_ids(drawing))


class _Measured(NamedTuple):
    """A path as it was read, with what its subpaths measure."""

    path: ReadPath
    sums: PathSums
    rings: Rings


def _measured(layer: ReadLayer, grid: float) -> Iterator[_Measured]:
    """The paths of a layer, many measured at once."""
    for first in range(0, len(layer.paths), _AT_ONCE):
        paths = layer.paths[first : first + _AT_ONCE]
        filled = [path.fill != "none" for path in paths]
        rings = [
            [points for points, _ in path.subpaths] if area else []
            for path, area in zip(paths, filled, strict=True)
        ]
        sums = path_sums([path.subpaths for path in paths], filled=any(filled))
        yield from map(_Measured, paths, sums, rings_of_paths(rings, grid))


def _page(drawing: ReadDrawing, page: Page, grid: float) -> Iterator[str]:
    texts = [*drawing.view.split(" "), *(size.removesuffix("mm") for size in drawing.size)]
    wanted = [0.0, 0.0, page.width, page.height, page.width, page.height]
    try:
        numbers = [float(text) for text in texts]
    except ValueError:
        numbers = []
    in_mm = all(size.endswith("mm") for size in drawing.size)
    if not in_mm or len(numbers) != len(wanted):
        yield f"the page is {drawing.size} with viewBox {drawing.view!r}"
    elif any(abs(a - b) > grid for a, b in zip(numbers, wanted, strict=True)):
        yield f"the page measures {numbers} instead of {wanted}"


def _pictures(artwork: Artwork, layer: ReadLayer | None) -> Iterator[str]:
    """Differences between the layer of pictures and the artwork."""
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


def _ids(drawing: ReadDrawing) -> Iterator[str]:
    ids = [layer.id for layer in drawing.layers]
    ids += [path.id for layer in drawing.layers for path in layer.paths]
    ids += [image.id for layer in drawing.layers for image in layer.images]
    for name, count in Counter(ids).items():
        if count > 1 or not name:
            yield f"{count} elements carry the id {name!r}"


def _titles(output: OutputLayer, layer: ReadLayer) -> Iterator[str]:
    if layer.title != " ".join(output.id.split()):
        yield f"layer {output.id} is titled {layer.title!r}"
    if re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*[A-Za-z0-9]", output.id) and layer.id != output.id:
        yield f"layer {output.id} has the id {layer.id!r}"


def _paths(
    output: OutputLayer,
    colour: str,
    wanted: Sequence[tuple[ExpectedPath, str]],
    paths: deque[_Measured],
) -> Iterator[str]:
    for one, name in wanted:
        if one.negligible and not (paths and not list(_path(one, colour, paths[0]))):
            continue
        if not paths:
            yield f"layer {output.id}: {name} is missing"
            continue
        for wrong in _path(one, colour, paths.popleft()):
            yield f"layer {output.id}: {name}: {wrong}"
    for left in paths:
        yield f"layer {output.id}: path {left.path.id} was not meant"


def _path(one: ExpectedPath, colour: str, read: _Measured) -> Iterator[str]:
    path = read.path
    paint = (path.fill, path.rule, path.stroke)
    expected = (colour, "evenodd", "none") if one.filled else ("none", "", colour)
    if paint != expected:
        yield f"painted {paint} instead of {expected}"
    yield from _area(one, read) if one.filled else _lines(one, read)


def _area(one: ExpectedPath, read: _Measured) -> Iterator[str]:
    if not all(closed for _, closed in read.path.subpaths):
        yield "an area has an open ring"
    found, area = read.sums, one.area
    if abs(found.area - area) > one.slack:
        yield f"area {digits(found.area)} mm² instead of {digits(area)} mm²"
    left, top, right, bottom = one.box
    reach = one.slack * (right - left + bottom - top + one.grid)
    shift = [f - m for f, m in zip(found.moments, one.moments, strict=True)]
    centre = ((left + right) / 2, (top + bottom) / 2)
    lever = [s - c * (found.area - area) for s, c in zip(shift, centre, strict=True)]
    if max(map(abs, lever)) > reach:
        yield f"its centre of gravity is off by {digits(max(map(abs, lever)) / area, 3)} mm"
    if not same_rings(one.rings, read.rings, one.grid):
        yield f"its {found.count} rings are not those of the artwork"


def _lines(one: ExpectedPath, read: _Measured) -> Iterator[str]:
    found = read.sums
    if abs(found.length - one.length) > 1.5 * one.grid * one.vertices:
        yield f"length {digits(found.length)} mm instead of {digits(one.length)} mm"
    if not same_lines(one.geometry, read.path.subpaths, one.grid):
        yield f"its {found.count} lines are not those of the artwork"
