"""Meshes as they are read: bodies of triangles, what is known of their unit, and their limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import Place, UserError, wrong

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.findings import Finding

MOST_TRIANGLES = 2_000_000
"""Triangles that are read; half a million show every layer of a print."""

MOST_MODEL_BYTES = 512 * 2**20
"""Bytes of a file, and bytes that a package may unpack to."""

FARTHEST = 1e5
"""mm from the origin that a coordinate may lie."""

MM_PER_UNIT = {
    "micron": 1e-3,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
"""Units of the 3MF core specification, section 3.4."""


@dataclass(frozen=True, slots=True, eq=False)
class MeshBody:
    """One body of a model: its name, and its triangles (n × 3 corners × x, y, z)."""

    name: str
    triangles: Floats


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mesh:
    """All bodies of a model that are printed, z up; `unit` is None where the file names none.

    Where it names one, the triangles are in mm. `findings` tell what was left out.
    """

    bodies: tuple[MeshBody, ...]
    unit: str | None
    findings: tuple[Finding, ...] = ()

    @property
    def triangles(self) -> Floats:
        """The triangles of all bodies, n × 3 × 3."""
        if len(self.bodies) == 1:
            return self.bodies[0].triangles
        return np.concatenate([body.triangles for body in self.bodies])


def model_error(name: str, found: str, remedy: str, line: int | None = None) -> UserError:
    """The error for a model: its file, what was found there, and what to do."""
    return wrong(found, remedy, place=Place(name, line))


def expect_sound(triangles: Floats, name: str) -> None:
    """See that there are triangles, not too many, all of them within reach.

    Raises:
        UserError: there are none, too many, or one has a coordinate that no part has.
    """
    if not len(triangles):
        raise model_error(name, "the model holds no triangle", "export the part again as a mesh")
    expect_few(len(triangles), name)
    if not np.isfinite(triangles).all():
        number = int(np.argmin(np.isfinite(triangles).all(axis=(1, 2)))) + 1
        found = f"triangle {number} has a coordinate that is no number"
        raise model_error(name, found, "repair the model, and export it again")
    if float(np.abs(triangles).max()) > FARTHEST:
        found = f"a corner of the model lies more than {FARTHEST:,.0f} units from its origin"
        raise model_error(name, found, "repair the model, or move it to the origin")


def expect_few(count: int, name: str) -> None:
    """See that a model does not hold more triangles than are read.

    Raises:
        UserError: it holds more.
    """
    if count > MOST_TRIANGLES:
        found = f"the model holds {count:,} triangles, and {MOST_TRIANGLES:,} are read"
        raise model_error(name, found, "export it coarser: 0.01 mm is fine enough")
