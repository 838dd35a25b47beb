"""The health of a mesh: whether it is closed and faces outward, and corners that nearly meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.connected import component_labels
from preprocess.geometry.relief.half_edges import mixed_bits, unpaired_edges
from preprocess.geometry.relief.walls import surface_heights

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices, UnsignedIntegers

_REACH = 1e-3
"""mm between corners that are meant to be one."""

_TRIED, _MOST_HOLLOWS = 100, 1000


@dataclass(frozen=True, slots=True, eq=False)
class MeshHealth:
    """What is wrong with a mesh: edges without a partner (m × 2 × 3), and bodies turned inside out.

    An edge has a partner where another triangle passes it the other way.
    """

    open_edges: Floats
    inside_out: int

    @property
    def is_closed(self) -> bool:
        """True if every edge has its partner."""
        return not len(self.open_edges)

    @property
    def is_sound(self) -> bool:
        """True if what faces up is the surface of the part: closed, and no body inside out."""
        return self.is_closed and not self.inside_out


def mesh_health(triangles: Floats) -> MeshHealth:
    """Examine the edges and bodies of a mesh (n × 3 × 3, mm)."""
    corners = _corner_numbers(triangles)
    start, stop = corners.ravel(), corners[:, [1, 2, 0]].ravel()
    edge, _ = unpaired_edges(start, stop)
    triangle, side = np.divmod(edge, 3)
    ends = np.stack([triangles[triangle, side], triangles[triangle, (side + 1) % 3]], axis=1)
    return MeshHealth(ends, 0 if len(edge) else _inside_out(triangles, corners))


def welded(triangles: Floats, reach: float = _REACH) -> Floats:
    """The triangles with corners that lie within reach of one another moved to one place."""
    from scipy.spatial import cKDTree

    _, first, number = np.unique(_corner_numbers(triangles), return_index=True, return_inverse=True)
    places = triangles.reshape(-1, 3)[first]
    pairs = cKDTree(places).query_pairs(reach, output_type="ndarray")
    if not len(pairs):
        return triangles
    label = component_labels(len(places), pairs[:, 0], pairs[:, 1])
    lead = np.full(int(label.max()) + 1, len(places))
    np.minimum.at(lead, label, np.arange(len(places)))
    return places[lead[label]][number].reshape(-1, 3, 3)


def triangle_normals(triangles: Floats) -> Floats:
    """Of each triangle (n × 3 × 3) the normal, n × 3, twice as long as its area is large."""
    x, y, z = (triangles[:, :, axis].T for axis in range(3))
    (ax, ay, az), (bx, by, bz) = (
        (x[corner] - x[0], y[corner] - y[0], z[corner] - z[0]) for corner in (1, 2)
    )
    return np.column_stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx))


def facing(triangles: Floats) -> tuple[Floats, Floats]:
    """Of each triangle, the cosine of its lean (1 faces up), and its area from above, mm²."""
    normal = triangle_normals(triangles)
    length = np.sqrt(np.einsum("ij,ij->i", normal, normal))
    return normal[:, 2] / np.where(length > 0, length, 1), np.abs(normal[:, 2]) / 2


def _corner_numbers(triangles: Floats) -> UnsignedIntegers:
    """A number for the place of each corner, n × 3; 0 and -0 are one place."""
    bits = np.ascontiguousarray(triangles.reshape(-1, 3) + 0.0).view(np.int64)
    return mixed_bits(*bits.T.copy()).reshape(-1, 3)


def _inside_out(triangles: Floats, corners: UnsignedIntegers) -> int:
    """Number of bodies that enclose less than nothing and are seen from above; hollows are not."""
    _, number = np.unique(corners, return_inverse=True)
    label = _labels(number.reshape(-1, 3))
    volume = np.bincount(label, _under(triangles))
    inward = np.flatnonzero(volume < 0)
    return sum(_is_seen(triangles, triangles[label == one]) for one in inward[:_MOST_HOLLOWS])


def _under(triangles: Floats) -> Floats:
    """Volume between each triangle and a level below it, mm³; less than nothing if it faces down.

    Over all triangles of a closed body this comes to its volume.
    """
    x, y, z = (triangles[:, :, axis].T for axis in range(3))
    twice = (x[1] - x[0]) * (y[2] - y[0]) - (y[1] - y[0]) * (x[2] - x[0])
    return twice * (z[0] + z[1] + z[2] - 3 * z.mean()) / 6


def _is_seen(triangles: Floats, body: Floats) -> bool:
    """Test whether some of the largest triangles of a body have nothing above them."""
    _, area = facing(body)
    largest = body[np.argsort(-area, kind="stable")[:_TRIED]]
    middle = largest.mean(axis=1)
    over = surface_heights(triangles, middle[:, :2])
    return bool((over <= middle[:, 2] + _REACH).any())


def _labels(number: Indices) -> Indices:
    one = np.concatenate((number[:, 0], number[:, 1]))
    two = np.concatenate((number[:, 1], number[:, 2]))
    return component_labels(int(number.max()) + 1, one, two)[number[:, 0]].astype(np.intp)
