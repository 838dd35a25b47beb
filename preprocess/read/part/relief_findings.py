"""Findings on a part's model: what was taken from it, and what a person should look at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import Point

from preprocess.findings import counted, note, warn
from preprocess.read.part.ways_up import faces_in_words
from preprocess.units import digits, place_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.geometry.relief.heights import HeightAreas
    from preprocess.geometry.relief.mesh_health import MeshHealth
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.part import Part
    from preprocess.read.part.ways_up import FlatFace

_THIN = 0.8
"""mm of plastic under a mark below which heat may show or warp on the other side."""

_FEW_THIN = 0.005
"""Share of the rays that may meet less: edges and rounding."""

_LARGE_LEVEL = 0.05
"""Share of the part from which a level is named."""

_TIMES_LARGER, _OTHER_WAY = 3.0, 15.0
"""A face so many times larger than the flat area, looking so many degrees elsewhere, was meant."""

_NEAR = 0.05
"""mm: heights that differ by less are the same to a person with callipers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenPart:
    """A part as its model shows it: keys as given and as completed, areas, health, walls, faces."""

    name: str
    given: Part
    part: Part
    areas: HeightAreas
    health: MeshHealth
    walls: Floats | None
    faces: list[FlatFace]


def focus_finding(part: Part, machine: Machine | None, focus: float) -> Finding:
    """How far up and down marks stay even, and where that figure comes from."""
    band = f"±{digits(focus, 2)} mm"
    if part.in_focus is not None:
        return note("model-focus", f"in focus is what lies within {band}, as the recipe says")
    if machine is None or machine.spot is None or machine.wavelength is None:
        message = f"spot or wavelength are unknown, so what lies within {band} counts as in focus"
        remedy = (
            "give the machine its spot and wavelength, or measure in_focus: with the coupon "
            "focus-steps"
        )
        return note("model-focus", message, remedy)
    message = (
        f"in focus is what lies within {band}: there an ideal spot of {digits(machine.spot, 3)} mm "
        "is at most 5 % wider"
    )
    remedy = "mark the coupon focus-steps, and write the in_focus: that evenmark fit tells"
    return note("model-focus", message, remedy)


def relief_findings(seen: SeenPart, machine: Machine | None, looks_up: Floats) -> Iterator[Finding]:
    """All findings on a part that was seen from its model."""
    yield _summary(seen)
    yield from _pieces(seen)
    yield from _given_height(seen)
    yield from _levels(seen)
    yield from _other_faces(seen, looks_up)
    yield from _open_edges(seen)
    yield from _thin_walls(seen)
    yield from _beyond_the_field(seen, machine)


def _summary(seen: SeenPart) -> Finding:
    areas = seen.areas
    left, top, right, bottom = areas.outline.bounds
    holes = sum(len(one.interiors) for one in areas.outline.geoms)
    thickness = seen.part.thickness
    words = [
        f"{right - left:.2f} × {bottom - top:.2f} mm, {areas.top:.2f} mm high",
        f"its marked surface {areas.plane:.2f} mm up",
        f"{digits(areas.flat.area / 100, 3)} cm² of it flat and in focus",
        counted(holes, "hole"),
    ]
    words += [f"{digits(thickness, 3)} mm thick under the mark"] if thickness else []
    off = {"higher": areas.raised, "deeper": areas.sunk, "slanted": areas.slanted}
    words += [f"{one.area:.1f} mm² {name}" for name, one in off.items() if one.area > _NEAR]
    return note("model-read", f"the part of {seen.name}: {', '.join(words)}")


def _pieces(seen: SeenPart) -> Iterator[Finding]:
    pieces = sum(one.area > _NEAR for one in seen.areas.outline.geoms)
    if pieces > 1:
        message = f"seen from above the model is in {pieces} pieces, which were taken as one part"
        remedy = "name one with body:, or export the part alone, if these are several parts"
        yield warn("model-in-pieces", message, remedy)


def _given_height(seen: SeenPart) -> Iterator[Finding]:
    if seen.given.height and abs(seen.given.height - seen.areas.plane) > _NEAR:
        message = (
            f"the recipe gives the marked surface {digits(seen.given.height)} mm above the bed, "
            f"the model {seen.areas.plane:.2f} mm: the recipe's figure was taken"
        )
        yield note("model-height", message, "delete height: unless the part lies on something")


def _levels(seen: SeenPart) -> Iterator[Finding]:
    areas = seen.areas
    large = [one for one in areas.levels if one.area >= _LARGE_LEVEL * areas.outline.area]
    if not large:
        message = "nothing of the part is level: what lies in focus of a curved or slanted face"
        yield note("model-not-level", f"{message} was taken", "up: face makes a flat one level")
    if seen.given.at is None and len(large) > 1:
        heights = ", ".join(
            f"{one.height:.2f} mm ({digits(one.area / 100, 2)} cm²)" for one in large
        )
        message = f"the part is level at {heights}; the largest was taken"
        yield note("model-levels", message, f"name another with at: {large[1].height:.2f} mm")


def _other_faces(seen: SeenPart, looks_up: Floats) -> Iterator[Finding]:
    largest = seen.faces[0]
    lean = largest.lean_from(looks_up)
    if lean > _OTHER_WAY and largest.area > _TIMES_LARGER * seen.areas.flat.area:
        message = (
            f"the largest flat face of the part looks elsewhere: {faces_in_words([largest])}; "
            f"{digits(seen.areas.flat.area / 100, 2)} cm² face the beam"
        )
        yield warn("model-faces-away", message, "if that face is to be marked, name it with up:")


def _open_edges(seen: SeenPart) -> Iterator[Finding]:
    edges = seen.health.open_edges
    if not len(edges):
        if seen.health.inside_out:
            message = f"{counted(seen.health.inside_out, 'body', 'bodies')} of the model inside out"
            yield note("model-open", f"{message}: read all the same, but walls were not measured")
        return
    message = (
        f"the model is not closed: {counted(len(edges), 'edge')} without a partner; it was read "
        "all the same, but walls were not measured"
    )
    yield note("model-open", message, "give the part its thickness:, or repair the model")
    on = np.abs(edges[:, :, 2] - seen.areas.plane).max(axis=1) < _NEAR
    border = seen.areas.outline.boundary
    inside = [edge for edge in edges[on] if border.distance(_middle(edge)) > _NEAR]
    if inside:
        x, y = _middle(inside[0]).coords[0]
        place = place_text((x, -y))
        message = (
            f"{counted(len(inside), 'open edge')} on the marked surface: what is missing there "
            "shows as too deep"
        )
        remedy = "look at the keep-off areas of the overlay, and repair the model"
        yield warn("model-open-surface", f"{message} (at {place} of the model)", remedy)


def _middle(edge: Floats) -> Point:
    return Point(edge[:, :2].mean(axis=0))


def _thin_walls(seen: SeenPart) -> Iterator[Finding]:
    if seen.walls is None or not np.isfinite(seen.walls).any():
        return
    walls = seen.walls[np.isfinite(seen.walls)]
    thin = walls < _THIN
    if thin.mean() <= _FEW_THIN:
        return
    message = (
        f"{digits(float(thin.mean()) * seen.areas.flat.area, 3)} mm² of the flat area have less "
        f"than {_THIN} mm of plastic under them, the least {digits(float(walls.min()), 2)} mm"
    )
    remedy = "heat may warp it or show on the other side: mark a spare first, or keep it clear"
    yield warn("model-thin", message, remedy)


def _beyond_the_field(seen: SeenPart, machine: Machine | None) -> Iterator[Finding]:
    if machine is None or machine.field is None:
        return
    left, top, right, bottom = seen.areas.outline.bounds
    width, height = machine.field
    if right - left <= width and bottom - top <= height:
        return
    message = (
        f"the part measures {right - left:.1f} × {bottom - top:.1f} mm, the field "
        f"{digits(width)} × {digits(height)} mm"
    )
    yield warn("model-beyond-field", message, "mark what lies within, or mark it in two settings")
