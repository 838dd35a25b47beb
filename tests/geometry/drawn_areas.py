"""Areas that tests of openings and tips are drawn on."""

from __future__ import annotations

import math

import shapely
from hypothesis import strategies as st
from shapely import Polygon, box

AREAS = st.lists(
    st.tuples(
        st.floats(0, 8), st.floats(0, 8), st.floats(0.05, 4), st.floats(0.05, 4), st.floats(0, 90)
    ),
    min_size=1,
    max_size=6,
).map(
    lambda many: shapely.union_all(
        [shapely.affinity.rotate(box(x, y, x + w, y + h), t) for x, y, w, h, t in many]
    )
)


def wedge(half_angle, half_width=1.5):
    """A block whose right side runs out in a tip."""
    length = half_width / math.tan(math.radians(half_angle))
    return Polygon(
        [(0, -half_width), (length, 0), (0, half_width), (-6, half_width), (-6, -half_width)]
    )
