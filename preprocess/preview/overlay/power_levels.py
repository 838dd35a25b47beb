"""Images of greys as a few levels of power: the picture, and its scale in the legend."""

from __future__ import annotations

import base64
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, Point

from preprocess.marking.job.grey_rows import cells_of
from preprocess.marking.machine.grey_curve import grey_powers
from preprocess.model.artwork.grey import WHITE, GreyImage
from preprocess.preview.drawing.canvas import Paint
from preprocess.preview.drawing.entries import LegendEntry, Section, square_mm
from preprocess.units import digits
from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.png_bytes import png_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Greys, Indices
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Grey, Machine
    from preprocess.preview.drawing.canvas import Viewport

_LEVELS = 6
_PALE, _DARK = 225, 40
"""Greys of the least and the greatest power in the picture."""

_CELL = Paint(fill="#888888", stroke="#ffffff", width=0.5)


@dataclass(frozen=True, slots=True, eq=False)
class PowerLevels:
    """Levels of power of one layer: the lower end of each (a share) and the end of the last."""

    layer: str
    images: tuple[GreyImage, ...]
    ends: Floats
    areas: Floats


def power_levels(artwork: Artwork, machine: Machine) -> list[PowerLevels]:
    """The levels of each layer that has images of greys; none where the curve is not known."""
    curve = machine.grey
    if curve is None:
        return []
    by_layer: dict[str, list[GreyImage]] = {}
    for shape in artwork.shapes:
        if shape.grey is not None:
            by_layer.setdefault(shape.layer, []).append(shape.grey)
    return [_levels(layer, tuple(images), curve) for layer, images in by_layer.items()]


def _levels(layer: str, images: tuple[GreyImage, ...], curve: Grey) -> PowerLevels:
    known = grey_powers(curve)
    power = [known[cells_of(image)[cells_of(image) != WHITE]] for image in images]
    every = np.concatenate(power)
    count = _LEVELS if np.ptp(every) > 0 else 1
    ends = np.linspace(every.min(), every.max(), count + 1)
    areas = np.zeros(count)
    for image, some in zip(images, power, strict=True):
        cell = image.cell[0] * image.height
        areas += cell * np.bincount(_level(some, ends), minlength=count)
    return PowerLevels(layer, images, ends, areas)


def _level(power: Floats, ends: Floats) -> Indices:
    return np.searchsorted(ends[1:-1], power, side="right")


def scale_entries(levels: Sequence[PowerLevels]) -> list[LegendEntry]:
    """Entries of each layer: that it is cells; of each level its grey, its powers and its area."""
    found = []
    for one in levels:
        wide, high = one.images[0].cell[0], one.images[0].height
        words = f"edges of {one.layer} became cells of {digits(wide)} × {digits(high)} mm"
        found.append(LegendEntry(Section.CHANGE, MultiPolygon(), _CELL, words))
        for number, (low, high) in enumerate(pairwise(one.ends.tolist())):
            grey = _shown(number, len(one.areas))
            words = f"{one.layer}: {_between(low, high)} %"
            paint = Paint(fill=f"#{grey:02x}{grey:02x}{grey:02x}", stroke="#888888", width=0.1)
            amount = square_mm(float(one.areas[number]))
            found.append(LegendEntry(Section.LAYER, MultiPolygon(), paint, words, amount))
    return found


def _between(low: float, high: float) -> str:
    first, last = (digits(100 * power, 3) for power in (low, high))
    return first if first == last else f"{first} to {last}"


def _shown(number: int, count: int) -> int:
    return round(_PALE + (_DARK - _PALE) * (number / max(1, count - 1)))


def level_pictures(levels: Sequence[PowerLevels], view: Viewport, curve: Grey) -> list[str]:
    """The images of all layers in the greys of their levels, the rows of several in turn."""
    lines, known = [], grey_powers(curve)
    for one in levels:
        count = len(one.areas)
        shades = np.array([_shown(n, count) for n in range(count)], np.uint8)
        table = np.append(shades[_level(known[:WHITE], one.ends)], np.uint8(WHITE))
        lines += [_drawn(image, table, view) for image in _in_turn(one.images)]
    return lines


def _in_turn(images: tuple[GreyImage, ...]) -> tuple[GreyImage, ...]:
    """Images that hold each other's rows between as one; others as they are."""
    first = images[0]
    apart = first.cell[1]
    every = round(apart / first.height)
    same = all((one.columns, one.matrix[:4]) == (first.columns, first.matrix[:4]) for one in images)
    if every == 1 or not same:
        return images
    down = np.array(first.matrix[2:4]) / apart
    place = np.array([np.dot(one.matrix[4:], down) for one in images])
    begin = np.rint((place - place.min()) / first.height).astype(int).tolist()
    rows = max(b + every * (one.rows - 1) for b, one in zip(begin, images, strict=True)) + 1
    cells = np.full((rows, first.columns), WHITE, np.uint8)
    for row, one in zip(begin, images, strict=True):
        cells[row::every][: one.rows] = cells_of(one)
    a, b, c, d, *_ = first.matrix
    corner = np.array(images[int(place.argmin())].matrix[4:]) + down * (apart - first.height) / 2
    e, f = corner.tolist()
    matrix = (a, b, c / every, d / every, e, f)
    return (replace(first, rows=rows, greys=cells.tobytes(), matrix=matrix),)


def _drawn(image: GreyImage, table: Greys, view: Viewport) -> str:
    """The image on the sheet, under the map from its cells."""
    a, b, c, d, e, f = image.matrix
    place = view.on_sheet(Point(e, f))
    numbers = (*(view.scale * value for value in (a, b, c, d)), place.x, place.y)
    factors = " ".join(decimal_text(value, 6) for value in numbers)
    shown = replace(image, greys=table[cells_of(image)].tobytes())
    data = base64.b64encode(png_bytes(shown)).decode("ascii")
    return (
        f'<image width="{image.columns}" height="{image.rows}" preserveAspectRatio="none"'
        ' image-rendering="optimizeSpeed" style="image-rendering:pixelated;mix-blend-mode:multiply"'
        f' transform="matrix({factors})" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' xlink:href="data:image/png;base64,{data}"/>'
    )
