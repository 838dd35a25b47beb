"""Each exposure as one lumped source: place, width, energy and time."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.solver.exposures import Exposure


@dataclass(frozen=True, slots=True)
class LumpedSources:
    """One entry per exposure in the row frame of one angle; mm, mm², s, J.

    The box is left, top, right, bottom. `centre` is that of the energy, `variance` its spread along
    and across the rows. An exposure of another angle has a box around its turned one.
    """

    box: Floats
    centre: Floats
    variance: Floats
    energy: Floats
    begins: Floats
    ends: Floats

    def first(self, count: int) -> LumpedSources:
        """The first few, as views of these."""
        return LumpedSources(*(getattr(self, each.name)[:count] for each in fields(self)))

    def only(self, which: Integers) -> LumpedSources:
        """Some of them."""
        return LumpedSources(*(getattr(self, each.name)[which] for each in fields(self)))


def lumped_sources(exposures: Sequence[Exposure], angle: float) -> LumpedSources:
    """Sum up exposures in the frame of an angle."""
    rows = [_record(exposure, angle) for exposure in exposures]
    table = np.array(rows, dtype=float).reshape(len(rows), 11)
    return LumpedSources(
        table[:, :4], table[:, 4:6], table[:, 6:8], table[:, 8], table[:, 9], table[:, 10]
    )


def _record(exposure: Exposure, angle: float) -> tuple[float, ...]:
    long = exposure.end - exposure.start
    lit = long * exposure.relative
    share = (lit if lit.any() else long) / (float(lit.sum()) or long.sum())
    middle, y = (exposure.start + exposure.end) / 2, exposure.y[exposure.row]
    u, v = float(share @ middle), float(share @ y)
    var_u = float(share @ (middle**2 + long**2 / 12)) - u**2
    var_v = float(share @ y**2) - v**2 + exposure.pitch**2 / 12
    ends = (exposure.start.min(), exposure.y[0], exposure.end.max(), exposure.y[-1])
    box = tuple(map(float, ends))
    if exposure.angle != angle:
        by = angle - exposure.angle
        box, (u, v) = _turned_box(box, by), RowFrame(by).to_uv(u, v)
        var_u = var_v = (var_u + var_v) / 2
    energy = exposure.energy * float(lit.sum())
    return (*box, u, v, var_u, var_v, energy, exposure.begins, exposure.ends)


def _turned_box(box: tuple[float, ...], by: float) -> tuple[float, ...]:
    corners = [RowFrame(by).to_uv(u, v) for u in (box[0], box[2]) for v in (box[1], box[3])]
    us, vs = [corner[0] for corner in corners], [corner[1] for corner in corners]
    return min(us), min(vs), max(us), max(vs)
