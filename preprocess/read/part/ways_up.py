"""Ways up: a model turned so that the side to be marked looks to the beam, and its flat faces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import listed
from preprocess.geometry.relief.half_edges import mixed_bits
from preprocess.geometry.relief.mesh_health import triangle_normals
from preprocess.model.bench.part import Up
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.arrays import Floats

_TURNS: dict[Up, tuple[tuple[int, int, int], ...]] = {
    Up.Z: ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    Up.MINUS_Z: ((-1, 0, 0), (0, 1, 0), (0, 0, -1)),
    Up.X: ((0, 0, -1), (0, 1, 0), (1, 0, 0)),
    Up.MINUS_X: ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
    Up.Y: ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    Up.MINUS_Y: ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
}
"""New x, y and z in terms of the old ones; each is a turn, never a mirror."""

_NEAR = 1.0
"""Degrees from an axis within which a face is called after it alone."""

_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class FlatFace:
    """A flat face of a model: the way it looks, a unit vector, and its area, mm²."""

    normal: tuple[float, float, float]
    area: float

    def lean_from(self, direction: Floats) -> float:
        """Degrees between the way it looks and a direction."""
        return math.degrees(math.acos(max(-1.0, min(1.0, float(np.dot(self.normal, direction))))))

    def __str__(self) -> str:
        axis = int(np.argmax(np.abs(self.normal)))
        sign = "-" if self.normal[axis] < 0 else "+"
        lean = math.degrees(math.acos(min(1.0, abs(self.normal[axis]))))
        leaning = "" if lean < _NEAR else f", leaning {lean:.0f}°"
        return f"{sign}{'xyz'[axis]}{leaning} ({digits(self.area / 100, 3)} cm²)"


def flat_faces(triangles: Floats) -> list[FlatFace]:
    """The largest flat faces of a model (n × 3 × 3, mm), the largest first.

    Triangles belong together where they look the same way, to 0.01, and lie in one plane.
    """
    normal = triangle_normals(triangles)
    length = np.sqrt(np.einsum("ij,ij->i", normal, normal))
    some = length > 0
    normal, area, corner = normal[some] / length[some, None], length[some] / 2, triangles[some, 0]
    distance = np.einsum("ij,ij->i", normal, corner)
    columns = [*np.round(normal.T * 100), np.round(distance * 10)]
    key = mixed_bits(*(column.astype(np.int64) for column in columns))
    _, number = np.unique(key, return_inverse=True)
    total = np.bincount(number, area)
    best = np.argsort(-np.round(total, 6), kind="stable")[:_MOST_NAMED]
    found = []
    for one in best.tolist():
        mean = area[number == one] @ normal[number == one]
        x, y, z = (mean / np.linalg.norm(mean)).tolist()
        found.append(FlatFace((x, y, z), float(total[one])))
    return found


def faces_in_words(faces: list[FlatFace]) -> str:
    """The faces for a message."""
    return listed([str(face) for face in faces])


def up_vector(up: Up, faces: list[FlatFace]) -> Floats:
    """The direction of the model that looks to the beam; `face` is that of its largest face."""
    if up is Up.FACE:
        return np.array(faces[0].normal)
    return np.array(_TURNS[up][2], float)


def turned_up(triangles: Floats, up: Up, faces: list[FlatFace]) -> Floats:
    """The model turned, its lowest place at z = 0; a face is made level by the shortest way."""
    turn = _shortest(up_vector(up, faces)) if up is Up.FACE else np.array(_TURNS[up], float)
    turned = triangles @ turn.T
    turned[:, :, 2] -= turned[:, :, 2].min()
    return turned


def _shortest(normal: Floats) -> Floats:
    """The smallest turn that makes a unit vector look up (Rodrigues' formula)."""
    x, y, z = normal.tolist()
    if z < -1 + 1e-12:
        return np.array(_TURNS[Up.MINUS_Z], float)
    across = np.array([[0, 0, -x], [0, 0, -y], [x, y, 0]])
    return np.eye(3) + across + across @ across / (1 + z)
