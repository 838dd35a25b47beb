"""One XML part of a 3MF: objects with meshes or components, and what is to be built.

Source: 3MF Core Specification 1.3, chapters 3 and 4; `path` is that of the Production Extension.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from preprocess.read.mesh.mesh_data import MM_PER_UNIT, MOST_TRIANGLES, expect_few, model_error
from preprocess.read.mesh.threemf_package import new_parser

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers
    from preprocess.read.mesh.threemf_package import Package

_PATH = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06 path"
_KNOWN = frozenset({"p", "m", "t", "sc", "slic3rpe"})
"""Usual prefixes of extensions that do not change a mesh: production, materials, trace data."""

_DEEPEST, _MOST_ELEMENTS = 64, 8_000_000
_AGAIN = "repair the model, and export it again"
_IDENTITY = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class ObjectReference:
    """An object that is put somewhere: the part that holds it, its id, and its map."""

    part: str
    id: str
    matrix: tuple[float, ...]
    printed: bool = True


@dataclass(slots=True)
class MeshObject:
    """One object: its triangles as corners and numbers of corners, or what it is made of."""

    name: str
    type: str
    corners: array[float] = field(default_factory=lambda: array("d"))
    triangles: array[int] = field(default_factory=lambda: array("q"))
    components: list[ObjectReference] = field(default_factory=list)

    @property
    def count(self) -> int:
        """The number of its own triangles."""
        return len(self.triangles) // 3

    def mesh(self, name: str) -> Floats:
        """Its own triangles, n × 3 × 3.

        Raises:
            UserError: a triangle names a corner that is not there.
        """
        corners = np.frombuffer(self.corners, np.float64).reshape(-1, 3)
        numbers: Integers = np.frombuffer(self.triangles, np.int64).reshape(-1, 3)
        odd = numbers[(numbers < 0) | (numbers >= len(corners))]
        if len(odd):
            found = f"a triangle of {self.name!r} names corner {odd[0]} of {len(corners)}"
            raise model_error(name, found, _AGAIN)
        return corners[numbers]


@dataclass(slots=True)
class ThreemfPart:
    """What one XML part holds: mm to its unit, objects by id, items to build, extensions."""

    mm: float = 1.0
    unit: str = "millimeter"
    objects: dict[str, MeshObject] = field(default_factory=dict)
    items: list[ObjectReference] = field(default_factory=list)
    extensions: tuple[str, ...] = ()


def read_part(package: Package, part: str) -> ThreemfPart:
    """Read one part of a package.

    Raises:
        UserError: it is no sound XML, has values that are none, or holds too many triangles.
    """
    reader = _Reader(package.name, part)
    parser = new_parser(package.name)
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    package.parse(part, parser)
    if not reader.begun:
        found = f"{part} in the 3MF holds no model"
        raise model_error(package.name, found, "export the part again as 3MF")
    return reader.held


class _Reader:
    """The state of the parser: the part so far, and the object that is open."""

    def __init__(self, name: str, part: str) -> None:
        self.name, self.part = name, part
        self.held = ThreemfPart()
        self.open: MeshObject | None = None
        self.begun = False
        self.depth = self.elements = self.triangles = 0
        self.handlers = {
            "vertex": self.vertex,
            "triangle": self.triangle,
            "model": self.model,
            "object": self.object,
            "component": self.component,
            "item": self.item,
        }

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        self.elements += 1
        if self.elements > _MOST_ELEMENTS:
            found = f"{self.part} in the 3MF has more than {_MOST_ELEMENTS:,} elements"
            raise model_error(self.name, found, "export the part alone, and coarser")
        if self.depth > _DEEPEST:
            found = f"elements in {self.part} nest more than {_DEEPEST} deep"
            raise model_error(self.name, found, _AGAIN)
        handler = self.handlers.get(tag.rpartition(" ")[2])
        if handler is not None:
            handler(attributes)

    def end(self, tag: str) -> None:
        self.depth -= 1
        if tag.rpartition(" ")[2] == "object":
            self.open = None

    def vertex(self, attributes: dict[str, str]) -> None:
        if self.open is None:
            return
        try:
            self.open.corners.extend(
                (float(attributes["x"]), float(attributes["y"]), float(attributes["z"]))
            )
        except (KeyError, ValueError):
            raise self._no_number("a vertex", attributes) from None

    def triangle(self, attributes: dict[str, str]) -> None:
        if self.open is None:
            return
        try:
            self.open.triangles.extend(
                (int(attributes["v1"]), int(attributes["v2"]), int(attributes["v3"]))
            )
        except (KeyError, ValueError, OverflowError):
            raise self._no_number("a triangle", attributes) from None
        self.triangles += 1
        if self.triangles > MOST_TRIANGLES:
            expect_few(self.triangles, self.name)

    def model(self, attributes: dict[str, str]) -> None:
        self.begun = True
        unit = attributes.get("unit", "millimeter").strip().lower()
        if unit not in MM_PER_UNIT:
            found = f"the 3MF is drawn in {unit[:40]!r}, a unit that the format does not have"
            raise model_error(self.name, found, "export it again in millimetres")
        self.held.unit, self.held.mm = unit, MM_PER_UNIT[unit]
        needed = attributes.get("requiredextensions", "").split()
        self.held.extensions = tuple(sorted(set(needed) - _KNOWN))

    def object(self, attributes: dict[str, str]) -> None:
        number = attributes.get("id", "")
        self.open = MeshObject(
            attributes.get("name") or f"object {number}", attributes.get("type", "model")
        )
        self.held.objects.setdefault(number, self.open)

    def component(self, attributes: dict[str, str]) -> None:
        if self.open is not None:
            self.open.components.append(self._reference(attributes))

    def item(self, attributes: dict[str, str]) -> None:
        self.held.items.append(self._reference(attributes))

    def _reference(self, attributes: dict[str, str]) -> ObjectReference:
        return ObjectReference(
            part=attributes.get(_PATH, self.part),
            id=attributes.get("objectid", ""),
            matrix=self._matrix(attributes.get("transform")),
            printed=attributes.get("printable", "1").strip().lower() not in {"0", "false"},
        )

    def _matrix(self, text: str | None) -> tuple[float, ...]:
        if text is None:
            return _IDENTITY
        try:
            values = tuple(float(word) for word in text.split())
        except ValueError:
            values = ()
        if len(values) != len(_IDENTITY) or not np.isfinite(values).all():
            found = f"the 3MF has the transform {text[:60]!r}, which is not twelve numbers"
            raise model_error(self.name, found, _AGAIN)
        return values

    def _no_number(self, what: str, attributes: dict[str, str]) -> Exception:
        shown = ", ".join(f"{key}={value[:20]!r}" for key, value in list(attributes.items())[:4])
        found = f"{what} in the 3MF has values that are no numbers ({shown or 'none at all'})"
        comma = any("," in value for value in attributes.values())
        return model_error(self.name, found, "export it with decimal points" if comma else _AGAIN)
