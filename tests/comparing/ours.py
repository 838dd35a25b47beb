"""What the reader makes of a drawing, as a plain SVG in black for a renderer to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.lines.stroking import outline_stroke

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.artwork.shape import Shape

PX_PER_MM = 96 / 25.4
THIN = 1.5
"""Strokes thinner than this many pixels are left to the renderer: it widens them."""


def drawn(artwork: Artwork, size: tuple[int, int], zoom: float) -> str:
    """The artwork on `size` pixels, `zoom` pixels to a px of the drawing."""
    px = zoom * PX_PER_MM
    box = f"0 0 {size[0] / px} {size[1] / px}"
    head = f'width="{size[0]}" height="{size[1]}" viewBox="{box}" preserveAspectRatio="none"'
    paths = "".join(_path(shape, px) for shape in artwork.shapes)
    pictures = "".join(map(_picture, artwork.pictures))
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{paths}{pictures}</svg>'


def _path(shape: Shape, px: float) -> str:
    if shape.is_area or shape.stroke is None:
        return f'<path fill-rule="evenodd" d="{_data(shape.geometry)}"/>'
    width = shape.stroke.width_mm
    if width * px >= THIN:
        return (
            f'<path fill-rule="evenodd" d="{_data(outline_stroke(shape.geometry, shape.stroke))}"/>'
        )
    return f'<path fill="none" stroke="#000" stroke-width="{width}" d="{_data(shape.geometry)}"/>'


def _picture(picture: Picture) -> str:
    matrix = " ".join(map(str, picture.matrix))
    size = 'width="1" height="1" preserveAspectRatio="none"'
    return f'<image {size} transform="matrix({matrix})" href="{picture.href}"/>'


def _data(geometry: shapely.Geometry) -> str:
    return "".join(
        _ring(line)
        for part in shapely.get_parts(geometry)
        for line in ([part] if part.geom_type == "LineString" else [part.exterior, *part.interiors])
    )


def _ring(line: shapely.LineString) -> str:
    points = " ".join(f"{x:.5f},{y:.5f}" for x, y in line.coords)
    return f"M{points}{'Z' if line.is_closed else ''}"
