"""STL out: binary, in millimetres, the same bytes for the same triangles."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats

_HEAD = b"binary STL in millimetres, made by evenmark"
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])


def stl_bytes(triangles: Floats) -> bytes:
    """A binary STL of triangles (n × 3 × 3, mm); its head must not begin with `solid`."""
    record = np.zeros(len(triangles), _RECORD)
    corners = np.asarray(triangles, np.float32)
    record["corners"] = corners
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    record["normal"] = normal / np.where(length > 0, length, 1)
    return _HEAD.ljust(80) + np.uint32(len(triangles)).tobytes() + record.tobytes()
