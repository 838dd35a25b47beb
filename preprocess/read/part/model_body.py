"""Bodies of a model that make up the part, in mm; sizes that look like another unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import listed, warn
from preprocess.model.bench.part import ModelUnit
from preprocess.read.mesh.mesh_data import model_error
from preprocess.read.part.copies import first_of_copies
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.model.bench.part import Part
    from preprocess.read.mesh.mesh_data import Mesh, MeshBody

_MM = {ModelUnit.MM: 1.0, ModelUnit.CM: 10.0, ModelUnit.M: 1000.0, ModelUnit.INCH: 25.4}

_LEAST, _MOST = 0.5, 10_000.0
"""mm: no part is smaller or larger; the grid of covers ends at twice as much."""

_SMALL, _THIN, _LARGE = 5.0, 0.4, 1000.0
"""mm: a part smaller, thinner or larger than this may be drawn in another unit."""

_DOUBTFUL = 25.0
"""mm: a part of 25 cm drawn in cm looks like this one; sizes up to it are told."""


def part_triangles(mesh: Mesh, part: Part, name: str) -> tuple[Floats, tuple[Finding, ...]]:
    """The triangles of the part in mm, n × 3 × 3, as the model holds them, and what to tell.

    Raises:
        UserError: no body has the name, a unit is given twice, or the size asks for a unit.
    """
    bodies, told = first_of_copies(_chosen(mesh, part.body, name))
    triangles = bodies[0].triangles if len(bodies) == 1 else _joined(bodies)
    if mesh.unit is not None:
        if part.unit is not None:
            found = f"the 3MF says that it is drawn in {mesh.unit}, and the recipe says {part.unit}"
            raise model_error(name, found, "delete unit: in the recipe")
        return _held(triangles, name), told
    if part.unit is None:
        _expect_likely(triangles, name)
        return triangles, (*told, *_small(triangles))
    return _held(triangles * _MM[part.unit], name), told


def _joined(bodies: Sequence[MeshBody]) -> Floats:
    return np.concatenate([body.triangles for body in bodies])


def _chosen(mesh: Mesh, body: str | None, name: str) -> Sequence[MeshBody]:
    if body is None:
        return mesh.bodies
    chosen = [one for one in mesh.bodies if one.name == body]
    if not chosen:
        names = list(dict.fromkeys(one.name for one in mesh.bodies))
        found = f"no printed body of the model is called {body!r}"
        raise model_error(name, found, f"its bodies are: {listed(names)}")
    return chosen


def _held(triangles: Floats, name: str) -> Floats:
    size = np.ptp(triangles.reshape(-1, 3), axis=0)
    if size.max() > _MOST or size.max() < _LEAST:
        found = f"the model measures {size_in_words(size)} mm, which no part does that is marked"
        raise model_error(name, found, "correct its unit")
    return triangles


def size_in_words(size: Floats) -> str:
    """Three sizes for a message."""
    return " × ".join(digits(one, 3) for one in size.tolist())


def _small(triangles: Floats) -> Iterator[Finding]:
    """A warning about an STL that is small for a part, and may be drawn in cm or inches."""
    size = np.ptp(triangles.reshape(-1, 3), axis=0)
    if size.max() < _DOUBTFUL:
        message = f"the STL names no unit, and was read as {size_in_words(size)} mm"
        yield warn(
            "model-unit", message, "say unit: mm under part, or the unit that it is drawn in"
        )


def _expect_likely(triangles: Floats, name: str) -> None:
    """See that an STL without a unit has the size of a part in millimetres."""
    size = np.ptp(triangles.reshape(-1, 3), axis=0)
    if size.max() >= _SMALL and size.min() >= _THIN and size.max() <= _LARGE:
        return
    large = size.max() > _LARGE
    other = "" if large else f"; were it drawn in inches, {size_in_words(size * 25.4)} mm"
    found = f"the model measures {size_in_words(size)} mm{other}"
    remedy = "say which under part, such as unit: inch, or unit: mm if that is its size"
    raise model_error(name, found, remedy)
