"""Columns of outlines: areas, bars, lines and images of an artwork, simplified as far as asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.marking.job.grey_rows import image_outline
from preprocess.model.artwork.output import output_layers
from preprocess.playback.block.beam_columns import in_units
from preprocess.playback.block.columns import STEPS, Column

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries, Indices
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

KINDS = ("area", "bars", "line", "image")
"""What an outline is; a shape that is scored or cut is a line, whatever it was drawn as."""

OUTLINE = 1e-2
"""Unit of the places of outlines, mm."""


def shape_columns(
    artwork: Artwork, corner: tuple[float, float], tolerance: float
) -> dict[str, Column]:
    """The outlines of all shapes; each ring or line is by no more than `tolerance` mm off.

    `shape_layer` counts the output layers with guides; of each shape are given its kind and number
    of rings, of each ring its points, counted from `corner` in hundredths of a mm.
    """
    layer, kind, outlines = [], [], []
    for number, output in enumerate(output_layers(artwork, guides=True)):
        for shape in output.shapes:
            for what, geometry in _of_shape(shape):
                layer.append(number)
                kind.append(KINDS.index(what))
                outlines.append(geometry)
    geometries = np.array([*outlines, None], dtype=object)[:-1]
    rings, shape_of = _rings(geometries)
    simple = shapely.simplify(rings, tolerance)
    points, ring_of = shapely.get_coordinates(simple, return_index=True)
    places = {
        f"shape_{axis}": Column(in_units(points[:, n] - corner[n], OUTLINE), STEPS)
        for n, axis in enumerate("xy")
    }
    return {
        "shape_layer": Column(np.array(layer, np.int64)),
        "shape_kind": Column(np.array(kind, np.int64)),
        "shape_rings": Column(np.bincount(shape_of, minlength=len(layer))),
        "ring_points": Column(np.bincount(ring_of, minlength=len(rings))),
        **places,
    }


def _of_shape(shape: Shape) -> Iterator[tuple[str, BaseGeometry]]:
    if shape.grey is not None:
        yield "image", image_outline(shape.grey)
    elif shape.is_engraved_area:
        yield "area", shape.geometry
    else:
        yield "line", shape.geometry
    if shape.bars is not None:
        yield "bars", shape.bars


def _rings(geometries: Geometries) -> tuple[Geometries, Indices]:
    """Rings of areas and lines of lines, in order, and which geometry each is of."""
    parts, whose = shapely.get_parts(geometries, return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    lines = np.flatnonzero(shapely.get_dimensions(parts) == 1)
    part = np.concatenate([part, lines])
    order = np.argsort(part, kind="stable")
    return np.concatenate([rings, parts[lines]])[order], whose[part[order]]


def outline_numbers(areas: Sequence[MultiPolygon], tolerance: float) -> list[list[list[float]]]:
    """Rings of each area as lists of x, y, x, y … in mm, for the head of the block."""
    found = []
    for area in areas:
        rings, _ = _rings(np.array([area, None], dtype=object)[:-1])
        simple = shapely.simplify(rings, tolerance)
        found.append([np.round(shapely.get_coordinates(r), 2).ravel().tolist() for r in simple])
    return found
