"""Marks against the relief of their part: too high, too deep, too slanted, or in the shade."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, warn
from preprocess.geometry.base.affine import inverted, map_points
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import difference, intersection, union
from preprocess.geometry.relief.shade import shade_of
from preprocess.geometry.relief.walls import surface_heights, wall_rays
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.settings import Operation
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.relief import Relief

_SEEN = 0.05
"""mm² of a mark below which a person sees nothing of it."""

_LINE = 0.05
"""mm: half of the width by which a line counts as an area here."""

_RAYS = 200

_OFF = 0.05
"""mm that a mark may lie off its place; half of a usual pitch."""


def relief_mark_findings(artwork: Artwork, bench: Bench) -> list[Finding]:
    """Warn of marks where the beam is out of focus or does not reach, part by part."""
    marks = _marks(artwork)
    found: list[Finding] = []
    for number, pose in enumerate(artwork.poses):
        relief = bench.reliefs[number % len(bench.reliefs)]
        if relief is not None and pose is not None:
            on_part = apply_affine(marks, inverted(pose))
            found += _out_of_focus(relief, on_part, pose)
            found += _shaded(relief, on_part, pose, artwork, bench)
            found += _off_by_lean(relief, on_part, pose, artwork, bench)
    return found


def shade_on_part(
    relief: Relief, pose: Matrix, axis: tuple[float, float], focal_length: float
) -> MultiPolygon:
    """What of a part its raised places shade or are, in the coordinates of the relief, mm.

    Args:
        relief: the part.
        pose: its place on the page.
        axis: the point of the page that the optical axis meets.
        focal_length: of the lens, mm.
    """
    x, y = map_points(np.array([axis]), inverted(pose))[0].tolist()
    shade = shade_of(
        relief.triangles,
        above=relief.plane + relief.in_focus,
        plane=relief.plane,
        axis=(x, y),
        focal_length=focal_length,
    )
    return intersection(shade, relief.outline)


def optical_axis(artwork: Artwork, machine: Machine) -> tuple[float, float]:
    """The point of the page that the optical axis meets: the middle of the field."""
    field = field_box(artwork, machine)
    x, y = artwork.page.centre if field is None else field.centroid.coords[0]
    return x, y


def _marks(artwork: Artwork) -> MultiPolygon:
    marked = [s.geometry for s in artwork.shapes if s.operation is not Operation.GUIDE]
    return union([g if g.area > 0 else shapely.buffer(g, _LINE) for g in marked])


def _out_of_focus(relief: Relief, marks: MultiPolygon, pose: Matrix) -> Iterator[Finding]:
    for area, words in ((relief.raised, "too high"), (relief.sunk, "too deep")):
        struck = intersection(marks, area)
        if struck.area < _SEEN:
            continue
        heights = surface_heights(relief.triangles, wall_rays(struck, _RAYS)) - relief.plane
        worst = float(np.nanmax(np.abs(heights))) if np.isfinite(heights).any() else 0.0
        message = (
            f"{digits(struck.area, 3)} mm² of the marks lie up to "
            f"{digits(worst, 2)} mm {words}, out of focus"
        )
        yield warn("marks-out-of-focus", message, _REMEDY, spot=_place(struck, pose))
    struck = intersection(marks, relief.slanted)
    if struck.area >= _SEEN:
        size = digits(struck.area, 3)
        message = f"{size} mm² of the marks lie too slanted"
        yield warn("marks-out-of-focus", message, _REMEDY, spot=_place(struck, pose))


_REMEDY = "move them to the flat area, or put keep-clear among the passes, which cuts them off"


def _shaded(
    relief: Relief, marks: MultiPolygon, pose: Matrix, artwork: Artwork, bench: Bench
) -> Iterator[Finding]:
    focal_length = bench.machine_or_default.focal_length
    if focal_length is None or relief.raised.is_empty:
        return
    axis = optical_axis(artwork, bench.machine_or_default)
    shade = shade_on_part(relief, pose, axis, focal_length)
    struck = intersection(marks, difference(shade, relief.raised))
    if struck.area < _SEEN:
        return
    message = (
        f"{digits(struck.area, 3)} mm² of the marks lie in the shade of "
        "raised places: the beam leans outward there"
    )
    remedy = "keep them farther from what is raised, or move the part to the middle of the field"
    yield warn("marks-in-shade", message, remedy, spot=_place(struck, pose))


def _place(struck: MultiPolygon, pose: Matrix) -> tuple[float, float]:
    """A point of the largest piece, on the page."""
    largest = max(struck.geoms, key=lambda one: one.area)
    point = shapely.get_coordinates(shapely.point_on_surface(largest))
    x, y = map_points(point, pose)[0].tolist()
    return x, y


def _off_by_lean(
    relief: Relief, marks: MultiPolygon, pose: Matrix, artwork: Artwork, bench: Bench
) -> Iterator[Finding]:
    """Warn of marks on steps in focus: off the axis the beam meets them elsewhere than drawn.

    At x from the axis it leans by x / f, so h below the plane it lies h x / f farther out. What is
    drawn 1 / (1 + h / f) as large about the axis comes out in its place.
    """
    focal_length = bench.machine_or_default.focal_length
    if focal_length is None:
        return
    places = wall_rays(intersection(marks, relief.flat), _RAYS)
    depth = relief.plane - surface_heights(relief.triangles, places)
    axis = optical_axis(artwork, bench.machine_or_default)
    away = np.hypot(*(map_points(places, pose) - axis).T)
    off = np.nan_to_num(depth * away / focal_length)
    for sign, side, way in ((1, "below", "out"), (-1, "above", "in")):
        struck = sign * off > _OFF
        if not struck.any():
            continue
        worst = int(np.argmax(sign * off))
        deep = float(depth[worst])
        message = (
            f"marks on a step {digits(abs(deep), 2)} mm {side} the marked surface come out up to "
            f"{digits(abs(off[worst]), 2)} mm farther {way}: the beam leans there"
        )
        factor = digits(1 / (1 + deep / focal_length), 4)
        remedy = f"draw them {factor} times as large about the middle of the field, or leave them"
        x, y = map_points(places[worst : worst + 1], pose)[0].tolist()
        yield warn("marks-off-by-lean", message, remedy, spot=(x, y))
