"""Pictures of greys that are to be marked: areas whose power is that of their pixels."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.job.grey_rows import lit_cells_area
from preprocess.model.artwork.grey import GreyImage

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.loading.png.grey_png import DecodedGreys
    from preprocess.model.artwork.shape import Matrix, Shape

_SAME = 1e-3
"""Share of a cell by which rows or sizes may differ and still be the same."""


@dataclass(frozen=True, slots=True)
class GreyPicture:
    """Decoded greys, and the map from the unit square, corner at (0, 0), to mm."""

    greys: DecodedGreys
    matrix: Matrix


def with_grey_images(
    shapes: Sequence[Shape], pictures: Mapping[str, GreyPicture]
) -> tuple[Shape, ...]:
    """Engraved shapes that stand for pictures get their cells; several of a layer a level each."""
    if not pictures:
        return tuple(shapes)
    mine: dict[str, list[Shape]] = {}
    for shape in shapes:
        if shape.is_engraved_area and shape.sources[0].id in pictures:
            mine.setdefault(shape.layer, []).append(shape)
    new: dict[int, Shape] = {}
    for some in mine.values():
        images = [_image(pictures[shape.sources[0].id]) for shape in some]
        height = _row_height(images)
        for number, (shape, image) in enumerate(zip(some, images, strict=True)):
            cells = replace(image, height=height or image.cell[1])
            new[id(shape)] = replace(
                shape,
                geometry=lit_cells_area(cells),
                grey=cells,
                level=number + 1 if len(some) > 1 else None,
                round=number if height else None,
            )
    return tuple(new.get(id(shape), shape) for shape in shapes)


def _image(picture: GreyPicture) -> GreyImage:
    a, b, c, d, e, f = picture.matrix
    columns, rows = picture.greys.columns, picture.greys.rows
    matrix = (a / columns, b / columns, c / rows, d / rows, e, f)
    return GreyImage(
        columns=columns, rows=rows, greys=picture.greys.greys, matrix=matrix, height=0.0
    )


def _row_height(images: Sequence[GreyImage]) -> float | None:
    """How high a strip each row stands for where the images hold each other's rows between."""
    cells = np.array([image.cell for image in images])
    if len(images) == 1 or np.ptp(cells, axis=0).max() > _SAME * cells.min():
        return None
    apart = float(cells[0, 1])
    _, _, c, d, _, _ = images[0].matrix
    across = np.array([image.matrix[4] * c + image.matrix[5] * d for image in images])
    place = np.sort(across / apart**2 % 1.0)
    gaps = np.diff(np.append(place, place[0] + 1.0)) * len(images)
    return apart / len(images) if np.abs(gaps - 1.0).max() < _SAME * len(images) * 10 else None
