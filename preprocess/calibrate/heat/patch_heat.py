"""Heat of a patch that is marked alone, by speed, pitch and size."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, box

from preprocess.calibrate.heat.cell_heat import cell_heat
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatPatch:
    """A rectangle with its settings except the power; mm, mm/s."""

    size: tuple[float, float] = (8.0, 8.0)
    speed: float
    pitch: float = 0.1
    two_way: bool = False


@lru_cache(maxsize=512)
def patch_heat(patch: HeatPatch, bench: Bench) -> Floats:
    """Coefficients of log index and log spike (see `HeatResponse`) at 100 % power, 2 × terms."""
    alone = patch_artwork(patch)
    found = cell_heat(alone, bench, [("patch", alone.shapes[0].geometry)])
    return np.concatenate([found.index, found.spike])


def patch_artwork(patch: HeatPatch) -> Artwork:
    """The patch at full power, alone on its page."""
    settings = Settings(
        power=1.0,
        speed=patch.speed,
        pitch=patch.pitch,
        direction=Direction.TWO_WAY if patch.two_way else Direction.ONE_WAY,
        angle=0.0,
        repeats=1,
    )
    area = MultiPolygon([box(0, 0, *patch.size)])
    shape = Shape(id="patch", layer="patch", operation=Operation.ENGRAVE, geometry=area, sources=())
    layer = Layer(name="patch", operation=None, settings={Operation.ENGRAVE: settings})
    page = Page(width=patch.size[0], height=patch.size[1])
    return Artwork(page=page, shapes=(shape,), layers=(layer,))
