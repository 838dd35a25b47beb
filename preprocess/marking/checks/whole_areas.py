"""Engraved areas as they are seen: rounds of one layer, cut into strips, as the whole they were."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.overlay.booleans import union

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.artwork.shape import Shape


def whole_areas(shapes: Sequence[Shape]) -> list[Shape]:
    """The engraved areas among some shapes, with all rounds of a layer united to one shape."""
    areas = [shape for shape in shapes if shape.is_engraved_area]
    rounds: dict[str, list[Shape]] = {}
    for shape in areas:
        if shape.round is not None:
            rounds.setdefault(shape.layer, []).append(shape)
    united = [
        replace(some[0], geometry=union([shape.geometry for shape in some]), round=None)
        for some in rounds.values()
    ]
    return [*(shape for shape in areas if shape.round is None), *united]
