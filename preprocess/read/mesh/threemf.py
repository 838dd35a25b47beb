"""3MF to bodies of triangles: what is printed, each object in its place and in millimetres.

Source: 3MF Core Specification 1.3: build items, components and their transforms (row vectors).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import counted, listed, note, warn
from preprocess.read.mesh.mesh_data import Mesh, MeshBody, expect_few, expect_sound, model_error
from preprocess.read.mesh.threemf_package import main_part, open_package
from preprocess.read.mesh.threemf_part import MeshObject, ObjectReference, ThreemfPart, read_part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.read.mesh.threemf_package import Package

_PARTS = frozenset({"model", "surface"})
"""Types of objects that are part of the print; support and other are not."""

_DEEPEST, _MOST_BODIES = 32, 10_000


@dataclass(slots=True)
class _Assembly:
    """The package with the parts that were read, bodies so far, and what was left out."""

    package: Package
    parts: dict[str, ThreemfPart] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    visits: int = 0
    count: int = 0

    @property
    def name(self) -> str:
        return self.package.name

    def part(self, name: str) -> ThreemfPart:
        key = name.lstrip("/").lower()
        if key not in self.parts:
            self.parts[key] = read_part(self.package, name)
        return self.parts[key]

    def object(self, one: ObjectReference) -> MeshObject:
        found = self.part(one.part).objects.get(one.id)
        if found is None:
            message = f"the 3MF builds object {one.id[:40]!r}, which is not in it"
            raise model_error(self.name, message, "export it again, and copy it whole")
        return found


def read_threemf(data: bytes, name: str) -> Mesh:
    """The mesh of a 3MF file, in mm: a body to each object that is printed, z up.

    Args:
        data: bytes of the file.
        name: what to call it in messages.

    Raises:
        UserError: it is no 3MF, is damaged, builds nothing, names itself, or holds too much.
    """
    package = open_package(data, name)
    main = main_part(package)
    whole = _Assembly(package)
    top = whole.part(main)
    bodies: list[MeshBody] = []
    for item in top.items:
        if not item.printed:
            whole.left_out.append(f"{whole.object(item).name} (not to be printed)")
            continue
        bodies += _bodies(whole, item, np.eye(4), top.mm, 0)
    if not bodies:
        remedy = "mark its part as printed, and export it again"
        raise model_error(name, "the 3MF builds nothing that is printed", remedy)
    expect_sound(np.concatenate([body.triangles for body in bodies]), name)
    return Mesh(bodies=tuple(bodies), unit=top.unit, findings=tuple(_findings(whole, top)))


def _bodies(
    whole: _Assembly, one: ObjectReference, outer: Floats, mm: float, depth: int
) -> Iterator[MeshBody]:
    whole.visits += 1
    if depth > _DEEPEST or whole.visits > _MOST_BODIES:
        found = "components of the 3MF name themselves, or nest without end"
        raise model_error(whole.name, found, "join them to one part, and export it again")
    held = whole.object(one)
    if held.type not in _PARTS:
        whole.left_out.append(f"{held.name} ({held.type})")
        return
    matrix = _matrix(one) @ outer
    if held.count:
        whole.count += held.count
        expect_few(whole.count, whole.name)
        yield MeshBody(held.name, _placed(held.mesh(whole.name), matrix, mm))
    for component in held.components:
        yield from _bodies(whole, component, matrix, mm, depth + 1)


def _matrix(one: ObjectReference) -> Floats:
    matrix = np.eye(4)
    matrix[:, :3] = np.reshape(one.matrix, (4, 3))
    return matrix


def _placed(triangles: Floats, matrix: Floats, mm: float) -> Floats:
    """Triangles under a map, in mm; a mirror turns them, so that they face outward as before."""
    with np.errstate(over="ignore", invalid="ignore"):  # what is too large is told later
        points = (triangles.reshape(-1, 3) @ matrix[:3, :3] + matrix[3, :3]) * mm
    placed = points.reshape(-1, 3, 3)
    return placed[:, ::-1] if np.linalg.det(matrix[:3, :3]) < 0 else placed


def _findings(whole: _Assembly, top: ThreemfPart) -> Iterator[Finding]:
    if whole.left_out:
        names = list(dict.fromkeys(whole.left_out))
        message = f"left out of the model: {listed(names)}"
        yield note("model-bodies-left-out", message, "name the part with body:, if it is one")
    if top.extensions:
        what = counted(len(top.extensions), "extension")
        message = f"the 3MF needs {what} that is not read: {listed(list(top.extensions))}"
        remedy = "compare the outline with the part; export it as a plain mesh if they differ"
        yield warn("model-extension", message, remedy)
