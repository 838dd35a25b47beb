"""Rows of a grey image, as the machine sweeps them: where they lie, and the power of each cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.machine.grey_curve import grey_powers
from preprocess.model.artwork.grey import WHITE

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Greys
    from preprocess.model.artwork.grey import GreyImage
    from preprocess.model.bench.machine import Grey

_ALONG = 1e-3
"""Degrees by which the rows of an image may miss the angle of their layer."""


@dataclass(frozen=True, slots=True, eq=False)
class GreyRows:
    """Rows of one image in the row frame of `angle` (degrees), mm.

    Row i lies at v = first + i · pitch, cell j of it from u = left + j · cell on. `power` is the
    share of each cell, rows × columns; 0 is dark.
    """

    angle: float
    first: float
    pitch: float
    left: float
    cell: float
    power: Floats

    @property
    def mean_power(self) -> float:
        """Mean power over the lit cells, a share."""
        lit = self.power[self.power > 0]
        return float(lit.mean()) if len(lit) else 0.0


def cells_of(image: GreyImage) -> Greys:
    """The greys of an image, rows × columns."""
    return np.frombuffer(image.greys, np.uint8).reshape(image.rows, image.columns)


def row_angle(image: GreyImage, usual: float) -> float:
    """The scan angle of an image's rows, degrees; the usual one where its rows lie along that."""
    a, b, *_ = image.matrix
    own = float(np.degrees(np.arctan2(-b, a)))
    off = (own - usual + 90.0) % 180.0 - 90.0
    return usual if abs(off) < _ALONG else round(own, 6)


def grey_rows(image: GreyImage, curve: Grey, angle: float) -> GreyRows:
    """The rows of an image in the frame of a scan angle along them, turned or mirrored as it is."""
    a, b, c, d, e, f = image.matrix
    frame, (cell, pitch) = RowFrame(angle), image.cell
    power = grey_powers(curve)[cells_of(image)]
    (left, top), (along, _), (_, down) = (frame.to_uv(*xy) for xy in ((e, f), (a, b), (c, d)))
    if along < 0:
        left, power = left - image.columns * cell, power[:, ::-1]
    if down < 0:
        top, power = top - image.rows * pitch, power[::-1]
    return GreyRows(angle, top + pitch / 2, pitch, left, cell, power)


def image_outline(image: GreyImage) -> Polygon:
    """The whole image on the page, white included: its box counts where software places it."""
    return Polygon(image.corners)


def lit_cells_area(image: GreyImage) -> MultiPolygon:
    """The area of the cells that are marked, each as high as its row stands for."""
    lit = np.pad(cells_of(image) != WHITE, ((0, 0), (1, 1)))
    row, start = np.nonzero(~lit[:, :-1] & lit[:, 1:])
    _, end = np.nonzero(lit[:, :-1] & ~lit[:, 1:])
    half = image.height / image.cell[1] / 2
    boxes = shapely.box(start, row + 0.5 - half, end, row + 0.5 + half)
    area = as_area(boxes) if half < 0.5 else union(boxes)  # noqa: PLR2004 - they touch
    return apply_affine(area, image.matrix)
