"""Parts in a tray: what of each must pass on its way in, height by height."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import MultiPolygon, Polygon

from preprocess.errors import Refusal
from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.relief.clipping import below
from preprocess.geometry.relief.cover import cover
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.bench import Bench

_SAME = 1e-3
"""mm² by which areas may differ and be one: corners are rounded."""

_RIGID = 1e-6


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TrayPart:
    """One part in its place: its outline without holes, and the height of its marked surface.

    `solid` (n × 3 × 3, mm, in its own coordinates) and `pose` are None where no model is known; it
    is then as wide all the way up.
    """

    outline: MultiPolygon
    plane: float
    solid: Floats | None = None
    pose: Matrix | None = None


def tray_parts(after: Artwork, bench: Bench, solids: Sequence[Floats | None]) -> list[TrayPart]:
    """The parts of an artwork with their heights.

    Args:
        after: the artwork as it is written.
        bench: heights of the parts.
        solids: triangles of the parts with a model, in the order of the bench.

    Raises:
        Refusal: there is no part, one has no height, or it was scaled.
    """
    if not after.parts:
        raise Refusal(
            "the recipe names no part, so there is nothing to hold",
            "give part: its model, or its outline and height",
        )
    found = []
    for number, area in enumerate(after.parts):
        which = number % max(len(bench.parts), 1)
        solid = solids[which] if which < len(solids) else None
        pose = after.poses[number] if number < len(after.poses) else None
        plane = bench.parts[which].height
        if not plane:
            raise Refusal(
                "the height of the part is unknown, so no pocket can bring it to the focus",
                "give part: its model, or height: of the marked surface above its underside",
            )
        if pose is not None and abs(_size(pose) - 1) > _RIGID:
            raise Refusal(
                f"the part was scaled to {digits(_size(pose), 4)} of its size, "
                "which its print was not",
                "place the drawing without scaling it, or scale it in the editor",
            )
        outline = without_holes(area)
        found.append(TrayPart(outline=outline, plane=plane, solid=solid, pose=pose))
    return found


def _size(pose: Matrix) -> float:
    a, b, c, d, _, _ = pose
    return math.sqrt(abs(a * d - b * c))


def without_holes(area: MultiPolygon) -> MultiPolygon:
    """The area with its holes filled: a tray has no pegs."""
    return union(Polygon(one.exterior) for one in area.geoms)


def footprints(parts: Sequence[TrayPart], heights: Sequence[float]) -> list[list[MultiPolygon]]:
    """What of each part lies below each height over the floor, in its place on the page.

    All marked surfaces lie level: a lower part stands higher. Copies of a model are cut once, and
    footprints that hardly differ from those below are the same.
    """
    highest = max(part.plane for part in parts)
    known: dict[int, list[MultiPolygon]] = {}
    found = []
    for part in parts:
        over = [height - (highest - part.plane) for height in heights]
        if part.solid is None or part.pose is None:
            found.append([part.outline if height > 0 else NOTHING for height in over])
            continue
        key = id(part.solid)
        if key not in known:
            known[key] = _cut(part.solid, over)
        laid = {id(area): apply_affine(area, part.pose) for area in known[key]}
        found.append([laid[id(area)] for area in known[key]])
    return found


def _cut(solid: Floats, heights: Sequence[float]) -> list[MultiPolygon]:
    whole = float(solid[:, :, 2].max())
    found: list[MultiPolygon] = []
    for height in heights:
        pieces = solid if height >= whole else below(solid, height)
        area = without_holes(cover(pieces)) if len(pieces) else NOTHING
        if found:
            area = union([area, found[-1]])
            if area.area - found[-1].area < _SAME:
                area = found[-1]
        found.append(area)
    return found
