"""Two seeds whose rows can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

from shapely import MultiPolygon, box

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.machine import Machine
from tests.labels import shape

MACHINE = Machine(turnaround=0.002, fly_back=1000.0)


ENGRAVE = Settings(power=0.5, speed=500.0, pitch=0.5, angle=0.0)


SEEDS = MultiPolygon([box(10, 5, 14, 15), box(20, 5, 30, 10)])
"""Rows from 5 to 10: 14 of 20 mm are lit; from 10 to 15 one seed of 4 mm."""


def bed(
    area: MultiPolygon, settings: Settings = ENGRAVE, bars: MultiPolygon | None = None
) -> Artwork:
    seeds = replace(shape("seeds", "seeds", Operation.ENGRAVE, area), bars=bars)
    layer = Layer(name="seeds", operation=None, settings={Operation.ENGRAVE: settings})
    return Artwork(page=Page(width=40.0, height=20.0), shapes=(seeds,), layers=(layer,))
