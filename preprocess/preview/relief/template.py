"""A drawing to draw on: the part's outline, flat area, keep-off areas and heights, as guides."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.affine import translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.preview.drawing.canvas import SVG_NAMESPACE, mm
from preprocess.preview.relief.height_bands import bands_of
from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.relief import Relief

GUIDES, OUTLINE, DRAWING = "part-guides", "part-outline", "drawing"
"""Ids of the group of guides, of the outline in it, and of the group to draw in."""

_MARGIN = 25.0
"""mm of page around the part: room for bars."""

_DECIMALS = 4
_SIMPLE = 0.005
"""mm by which bands and areas for the eye are simplified; the outline is not."""


def template_svg(relief: Relief, title: str) -> bytes:
    """A page with the part in its middle, in mm; nothing on it is to be marked."""
    left, top, right, bottom = relief.outline.bounds
    width, height = right - left + 2 * _MARGIN, bottom - top + 2 * _MARGIN
    pose = translation(width / 2, height / 2)
    size = f'width="{mm(width)}mm" height="{mm(height)}mm" viewBox="0 0 {mm(width)} {mm(height)}"'
    off = union([relief.raised, relief.sunk, relief.slanted])
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="{SVG_NAMESPACE}" version="1.1" {size}>',
        f"<title>{escape_text(title)}</title>",
        f'<g id="{GUIDES}">',
        "<title>The part: these guides are never marked</title>",
        '<g id="heights" opacity="0.6" stroke="none" fill-rule="evenodd">',
        *_bands(relief, pose),
        "</g>",
        _path("keep-off", off, pose, 'fill="#b3261e" fill-opacity="0.25" stroke="#b3261e"', 0.15),
        _path("flat-area", relief.flat, pose, _DASHED, 0.25),
        _path(OUTLINE, relief.outline, pose, 'fill="none" stroke="#222222"', 0.3, exact=True),
        "</g>",
        f'<g id="{DRAWING}" fill="#000000">',
        "<title>drawing</title>",
        "</g>",
        "</svg>",
    ]
    return "\n".join([line for line in lines if line] + [""]).encode()


_DASHED = 'fill="none" stroke="#0b6e4f" stroke-dasharray="1.2 0.6"'


def _bands(relief: Relief, pose: Matrix) -> list[str]:
    found = []
    for band in bands_of(relief):
        data = _data(apply_affine(shapely.simplify(band.area, _SIMPLE), pose))
        if data:
            said = f"{band.low:.2f} to {band.high:.2f} mm high"
            found.append(f'<path fill="{band.colour}" d="{data}"><title>{said}</title></path>')
    return found


def _path(
    name: str, area: MultiPolygon, pose: Matrix, paint: str, width: float, *, exact: bool = False
) -> str:
    """One guide; nothing where there is no area."""
    shown = area if exact else shapely.simplify(area, _SIMPLE)
    data = _data(apply_affine(shown, pose))
    if not data:
        return ""
    return f'<path id="{name}" fill-rule="evenodd" {paint} stroke-width="{width}" d="{data}"/>'


def _data(area: MultiPolygon) -> str:
    return "".join(
        "M" + "L".join(f"{_text(x)} {_text(y)}" for x, y in ring.coords[:-1]) + "Z"
        for ring in shapely.get_rings(shapely.get_parts(area))
    )


def _text(value: float) -> str:
    return decimal_text(value, _DECIMALS)
