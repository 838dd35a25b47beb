"""The rows of each engraved layer, before and after: their places, spans and return times."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.machine.motion import motion_of
from preprocess.preview.drawing.as_drawn import as_placed
from preprocess.write.row_figures import raster_groups, timed_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.machine.motion import Motion
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine


@dataclass(frozen=True, slots=True)
class ProfileRows:
    """One entry per lit row of a layer, in no order.

    `at` is the row's place across the rows, mm; `span` from its first to its last lit point and
    `lit` the light in it, mm; `returns` the time until the beam is on the neighbouring row, s (nan
    where there is no neighbour or no speed). `pitch` is the widest among them, mm. `has_speed` is
    False where the speed of some is not set.
    """

    at: Floats
    span: Floats
    lit: Floats
    returns: Floats
    pitch: float
    has_speed: bool

    def __len__(self) -> int:
        return len(self.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerRows:
    """The rows of one engraved layer, all its levels together; `at` is counted from `origin`."""

    layer: str
    before: ProfileRows
    after: ProfileRows
    origin: str


def layer_rows(before: Artwork, after: Artwork, machine: Machine) -> tuple[LayerRows, ...]:
    """Rows of every layer that is swept before or after, in the order of the layers.

    A drawing that was placed is taken as it lies afterwards, so that the rows can be compared.
    Level rows are counted from the top of the output page, others from the first row.
    """
    motion, _ = motion_of(machine)
    was, now = (
        raster_groups(one, machine, lambda output: output.layer)
        for one in (as_placed(before, after)[0], after)
    )
    found = []
    for name in [layer.name for layer in after.layers if layer.name in {*was, *now}]:
        groups = (was.get(name, []), now.get(name, []))
        level = all(group.angle == 0 for some in groups for group in some)
        top = after.page.top if level else min(g.first for some in groups for g in some)
        sides = [_rows(some, motion, top) for some in groups]
        origin = "mm from the top of the page" if level else "mm across the rows, from the first"
        found.append(LayerRows(layer=name, before=sides[0], after=sides[1], origin=origin))
    return tuple(found)


def _rows(groups: Sequence[RasterGroup], motion: Motion, top: float) -> ProfileRows:
    timed = [timed_rows(group, motion) for group in groups]
    parts = [(spans.v, spans.span, spans.lit, returns) for spans, returns in timed]
    at, span, lit, returns = (np.concatenate(column) for column in zip(_NONE, *parts, strict=True))
    pitch = max((group.pitch for group in groups), default=0.0)
    has_speed = all(group.settings.speed is not None for group in groups)
    return ProfileRows(at - top, span, lit, returns, pitch, has_speed)


_NONE = (np.empty(0),) * 4
