"""A part's relief from its model: turned to the beam, seen from above, and what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.affine import translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.relief.heights import height_areas
from preprocess.geometry.relief.mesh_health import facing, mesh_health, welded
from preprocess.geometry.relief.walls import wall_rays, wall_thickness
from preprocess.marking.machine.surface import even_focus
from preprocess.model.bench.part import Up
from preprocess.model.bench.relief import Relief
from preprocess.read.mesh.mesh_data import model_error
from preprocess.read.part.model_body import part_triangles
from preprocess.read.part.relief_findings import (
    SeenPart,
    focus_finding,
    relief_findings,
)
from preprocess.read.part.ways_up import faces_in_words, flat_faces, turned_up, up_vector
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.geometry.relief.heights import HeightAreas
    from preprocess.geometry.relief.mesh_health import MeshHealth
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.part import Part
    from preprocess.read.mesh.mesh_data import Mesh
    from preprocess.read.part.ways_up import FlatFace

_UNKNOWN_FOCUS = 0.3
"""mm up and down that count as in focus where spot or wavelength are unknown."""

_LEAST_SHARE = 0.05
"""Share of a part's outline that is flat and in focus at least; else another side was meant."""

_RAYS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class PartModel:
    """A part with what its model says of it, its relief, and findings.

    `solid` are the triangles of the whole part, n × 3 × 3, in the coordinates of the relief.
    """

    part: Part
    relief: Relief
    solid: Floats
    findings: tuple[Finding, ...]


def part_model(mesh: Mesh, part: Part, machine: Machine | None, name: str) -> PartModel:
    """See a part from the beam.

    Args:
        mesh: its model.
        part: its keys in the recipe; height, range and thickness given there come first.
        machine: for the spot, its wavelength and its field.
        name: what to call the model in messages.

    Raises:
        UserError: body or unit do not fit, or the side that is up has nothing to mark.
    """
    given, chosen = part_triangles(mesh, part, name)
    faces = flat_faces(given)
    solid = _as_on_the_page(turned_up(given, part.up, faces))
    health = mesh_health(solid)
    surface = _surface(solid, health)
    focus = _focus(part, machine)
    areas = height_areas(surface, depth=focus, slant=part.slant, plane=part.at)
    if areas is None or areas.flat.area < _LEAST_SHARE * areas.outline.area:
        raise _nothing_faces(part, areas, faces, name)
    walls = wall_thickness(solid, wall_rays(areas.flat, _RAYS)) if health.is_sound else None
    resolved = _resolved(part, areas, walls)
    relief, middle = _relief(areas, surface, focus)
    seen = SeenPart(
        name=name, given=part, part=resolved, areas=areas, health=health, walls=walls, faces=faces
    )
    looks_up = up_vector(part.up, faces)
    told = [focus_finding(part, machine, focus), *relief_findings(seen, machine, looks_up)]
    return PartModel(
        part=resolved,
        relief=relief,
        solid=solid - [*middle, 0.0],
        findings=(*mesh.findings, *chosen, *told),
    )


def _as_on_the_page(triangles: Floats) -> Floats:
    """The same with y down the page; corners change their order, so that outward stays outward."""
    return (triangles * [1.0, -1.0, 1.0])[:, ::-1]


def _surface(solid: Floats, health: MeshHealth) -> Floats:
    """The triangles that make up what is seen: those facing up, where the mesh can be trusted.

    On the page, where y runs down, a triangle that faces up still has z of its normal above 0.
    """
    if not health.is_closed:
        return welded(solid)
    if not health.is_sound:
        return solid
    cosine, _ = facing(solid)
    return solid[cosine > 0]


def _focus(part: Part, machine: Machine | None) -> float:
    if part.in_focus is not None:
        return part.in_focus
    if machine is None or machine.spot is None or machine.wavelength is None:
        return _UNKNOWN_FOCUS
    return even_focus(machine.spot, machine.wavelength)


def _resolved(part: Part, areas: HeightAreas, walls: Floats | None) -> Part:
    """The part with what the model says, where the recipe says nothing."""
    thickness = part.thickness
    if thickness is None and walls is not None and np.isfinite(walls).any():
        thickness = round(float(np.nanmedian(walls)), 4)
    return replace(
        part,
        height=part.height or round(areas.plane, 4),
        height_range=part.height_range or round(areas.rise, 4),
        thickness=thickness,
    )


def _relief(
    areas: HeightAreas, surface: Floats, focus: float
) -> tuple[Relief, tuple[float, float]]:
    """The relief about the middle of its box, and where that lay before."""
    left, top, right, bottom = areas.outline.bounds
    middle = (left + right) / 2, (top + bottom) / 2
    move = translation(-middle[0], -middle[1])
    relief = Relief(
        outline=apply_affine(areas.outline, move),
        flat=apply_affine(areas.flat, move),
        raised=apply_affine(areas.raised, move),
        sunk=apply_affine(areas.sunk, move),
        slanted=apply_affine(areas.slanted, move),
        plane=areas.plane,
        top=areas.top,
        in_focus=focus,
        triangles=surface - [*middle, 0.0],
    )
    return relief, middle


def _nothing_faces(
    part: Part, areas: HeightAreas | None, faces: list[FlatFace], name: str
) -> Exception:
    where = f"seen from {part.up}, " if part.up is not Up.FACE else ""
    if areas is None:
        found = f"{where}nothing of the part faces the beam within {digits(part.slant)}°"
    else:
        share = areas.flat.area / areas.outline.area
        found = f"{where}only {share:.0%} of the part is level and in focus at {areas.plane:.2f} mm"
    remedy = (
        f"its flat faces are {faces_in_words(faces)}: name one as up:, or write up: face and print "
        "a tray with jig --print"
    )
    return model_error(name, found, remedy)
