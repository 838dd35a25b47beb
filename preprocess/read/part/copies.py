"""Copies on a print bed: a model that builds a part several times holds one part."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import note
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.read.mesh.mesh_data import MeshBody

_SAME = 2e-3
"""mm by which corners of copies may differ: files round them."""

_BETWEEN = 5.0
"""mm between copies where the bed shows no distance of its own."""


def first_of_copies(
    bodies: Sequence[MeshBody],
) -> tuple[Sequence[MeshBody], tuple[Finding, ...]]:
    """The bodies of the first copy and a note, where all that lies apart on the bed is alike.

    Copies may be moved and turned on the bed. All bodies come back where they are not copies.
    """
    prints = _prints(bodies) if len(bodies) > 1 else []
    if len(prints) < 2:  # noqa: PLR2004 - copies are two at least
        return bodies, ()
    first, *others = ([bodies[number].triangles for number in one] for one in prints)
    like = np.concatenate(first)
    if not all(_is_copy(like, np.concatenate(other)) for other in others):
        return bodies, ()
    kept = [bodies[number] for number in prints[0]]
    corners = [_box(np.concatenate([bodies[n].triangles for n in one])) for one in prints]
    message = f"the model builds {len(prints)} copies of {kept[0].name!r}; one of them is the part"
    copies = _tray_words(np.array(corners))
    return kept, (note("model-copies", message, f"{copies} in passes: marks as many at once"),)


def _prints(bodies: Sequence[MeshBody]) -> list[list[int]]:
    """Numbers of the bodies that lie together on the bed: their boxes touch, seen from above."""
    boxes = shapely.box(*np.array([_box(body.triangles) for body in bodies]).T)
    places = shapely.STRtree(shapely.get_parts(shapely.union_all(boxes)))
    found: dict[int, list[int]] = {}
    for number, place in places.query(shapely.centroid(boxes), predicate="intersects").T.tolist():
        found.setdefault(place, []).append(number)
    return sorted(found.values())


def _box(triangles: Floats) -> tuple[float, float, float, float]:
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _is_copy(one: Floats, other: Floats) -> bool:
    """Test whether the other is the one, moved and turned on the bed, corner by corner.

    The turn that fits best is the argument of the sum of products of complex corners.
    """
    if len(one) != len(other):
        return False
    here, there = (mesh[:, :, 0].ravel() + 1j * mesh[:, :, 1].ravel() for mesh in (one, other))
    here, there = here - here.mean(), there - there.mean()
    turn = np.exp(1j * np.angle(np.vdot(here, there)))
    heights = [mesh[:, :, 2].ravel() - mesh[:, :, 2].min() for mesh in (one, other)]
    off = max(np.abs(here * turn - there).max(), np.abs(heights[0] - heights[1]).max())
    return bool(off < _SAME)


def _tray_words(boxes: Floats) -> str:
    """The step of `place` that lays copies as they lie on the bed, if they stand in a grid."""
    middles, sizes = (boxes[:, :2] + boxes[:, 2:]) / 2, boxes[0, 2:] - boxes[0, :2]
    across, down = (np.unique(middles[:, axis].round(2)) for axis in (0, 1))
    apart = [
        float(np.diff(line).mean()) if len(line) > 1 else float(size) + _BETWEEN
        for line, size in zip((across, down), sizes, strict=True)
    ]
    even = all(np.ptp(np.diff(line)) < 10 * _SAME for line in (across, down) if len(line) > 1)
    if not even or len(across) * len(down) != len(boxes):
        return "place with copies: and spacing:"
    spacing = ", ".join(f"{digits(round(one, 2))} mm" for one in apart)
    return f"place: {{copies: [{len(across)}, {len(down)}], spacing: [{spacing}]}}"
