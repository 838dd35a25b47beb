"""The coupon of greys: ten squares of greys in a column, beside squares of known power.

Each row crosses one square of a layer only, so that squares of greys and of known power are swept
alike, whether the software sweeps images one by one or together.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import MultiPolygon, box

from preprocess.coupon.artwork.layout import PlacedCell
from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stroke_font import lettering_width, stroke_lettering
from preprocess.coupon.design.dimensions import LABEL_HEIGHT, LAYER_LETTERS
from preprocess.model.artwork.grey import WHITE, GreyImage

if TYPE_CHECKING:
    from preprocess.coupon.artwork.cells import CellGeometry
    from preprocess.coupon.design.model import CouponDefinition

GREYS = "greys"
"""Output layer of the images."""

_COUNT = 10
_BETWEEN = 0.8
"""Gap between two squares, mm."""

_BESIDE = 0.7
"""Gap between a square and its label, and between the two columns, mm."""


def step_greys() -> tuple[int, ...]:
    """The greys of the squares, from the one beside white to black."""
    lightest = WHITE - 1
    return tuple(round(lightest * (1 - n / (_COUNT - 1))) for n in range(_COUNT))


def placed_steps(definition: CouponDefinition) -> tuple[PlacedCell, ...]:
    """Squares of known power, and after them those of greys, in the middle of the plate.

    The setting of a square of greys is one beyond those of the layers.
    """
    side, down = _side(definition), _side(definition) + _BETWEEN
    layers = len(definition.settings)
    left = lettering_width(str(_COUNT), LABEL_HEIGHT) + _BESIDE
    beside = left + side + _BESIDE
    flats = [
        _cell(LAYER_LETTERS[n], n, side, (beside, round(row) * down), beside + side + _BESIDE)
        for n in range(layers)
        for row in [(_COUNT - 1) * n / max(1, layers - 1)]
    ]
    greys = [
        _cell(str(n + 1), layers, side, (left, n * down), left - _BESIDE - _wide(str(n + 1)))
        for n in range(_COUNT)
    ]
    width = beside + side + _BESIDE + _wide(LAYER_LETTERS[0])
    across = (definition.plate[0] - width) / 2
    below = 2 * LABEL_HEIGHT
    top = (definition.plate[1] - (_COUNT * down - _BETWEEN) - below) / 2
    return tuple(_moved(one, round(across, 3), round(top, 3)) for one in (*flats, *greys))


def _side(definition: CouponDefinition) -> float:
    """Side of a square: a whole number of rows."""
    pitch = definition.settings[0].pitch or 0.1
    return max(1, round(definition.lengths[0] / pitch)) * pitch


def _wide(name: str) -> float:
    return lettering_width(name, LABEL_HEIGHT)


def _cell(
    name: str, setting: int, side: float, at: tuple[float, float], label: float
) -> PlacedCell:
    x, y = at
    lettering = stroke_lettering(name, LABEL_HEIGHT)
    return PlacedCell(
        name=name,
        setting=setting,
        size={"side": round(side, 6)},
        shapes=(MultiPolygon([box(x, y, x + side, y + side)]),),
        label=translated(lettering, label, y + (side - LABEL_HEIGHT) / 2),
    )


def _moved(one: PlacedCell, x: float, y: float) -> PlacedCell:
    return PlacedCell(
        name=one.name,
        setting=one.setting,
        size=one.size,
        shapes=tuple(translated(shape, x, y) for shape in one.shapes),
        label=translated(one.label, x, y),
    )


def step_image(name: str, square: CellGeometry, pitch: float) -> GreyImage:
    """The image of a square of greys, by the number that is its name; a pixel is a pitch wide."""
    left, top, right, _ = square.bounds
    count = max(1, round((right - left) / pitch))
    return GreyImage(
        columns=count,
        rows=count,
        greys=bytes([step_greys()[int(name) - 1]]) * count**2,
        matrix=(pitch, 0.0, 0.0, pitch, left, top),
        height=pitch,
    )
