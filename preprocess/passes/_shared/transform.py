"""Shapes under an affine map, with all that belongs to them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.affine import compose
from preprocess.geometry.overlay.affine_image import apply_affine

if TYPE_CHECKING:
    from preprocess.model.artwork.shape import Matrix, Shape, Stroke
    from preprocess.model.artwork.source import Source


def shape_mapped(shape: Shape, matrix: Matrix) -> Shape:
    """A shape, its sources and its stroke; bars stay behind, for they belong to rows."""
    geometry, stroke = apply_affine(shape.geometry, matrix), _restroked(shape.stroke, matrix)
    sources = tuple(_moved(source, matrix) for source in shape.sources)
    grey = shape.grey and replace(shape.grey, matrix=compose(matrix, shape.grey.matrix))
    return replace(shape, geometry=geometry, sources=sources, stroke=stroke, grey=grey)


def _moved(source: Source, matrix: Matrix) -> Source:
    geometry = None if source.geometry is None else apply_affine(source.geometry, matrix)
    return replace(source, geometry=geometry, matrix=compose(matrix, source.matrix))


def _restroked(stroke: Stroke | None, matrix: Matrix) -> Stroke | None:
    if stroke is None:
        return None
    within, without = (
        None if area is None else apply_affine(area, matrix)
        for area in (stroke.within, stroke.without)
    )
    return replace(stroke, matrix=compose(matrix, stroke.matrix), within=within, without=without)
