"""One side of the block in three parts, each of which can be made with less detail by itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preprocess.model.artwork.output import output_layers
from preprocess.playback.block.beam_columns import set_columns, visit_columns
from preprocess.playback.block.beam_sets import BeamVisit, beam_sets, coarser_set
from preprocess.playback.block.index_columns import index_columns
from preprocess.playback.block.set_styles import frames_of, set_styles
from preprocess.playback.block.shape_columns import outline_numbers, shape_columns

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine
    from preprocess.playback.block.beam_sets import LineSet, RowSet
    from preprocess.playback.block.columns import Column
    from preprocess.playback.block.detail import KeptDetail
    from preprocess.playback.block.heat_constants import HeatConstants


@dataclass(frozen=True, slots=True, kw_only=True)
class SideSource:
    """What a side is made from; `corner` is what outlines count from, mm."""

    artwork: Artwork
    prediction: Prediction
    machine: Machine
    heat: HeatConstants
    corner: tuple[float, float]
    sets: tuple[RowSet | LineSet, ...]
    visits: tuple[BeamVisit, ...]


@dataclass(frozen=True, slots=True)
class SidePart:
    """Facts for the head of the block, and columns."""

    facts: dict[str, Any]
    columns: Mapping[str, Column]


def side_source(
    artwork: Artwork,
    prediction: Prediction,
    machine: Machine,
    heat: HeatConstants,
    corner: tuple[float, float],
) -> SideSource:
    """Sets and visits of a prediction, with what else its side needs."""
    bodies = list(artwork.parts) or [None]
    plan, schedule = prediction.plan, prediction.schedule
    sets, visits = beam_sets(plan, schedule, heat.medium.watts, bodies)
    return SideSource(
        artwork=artwork,
        prediction=prediction,
        machine=machine,
        heat=heat,
        corner=corner,
        sets=sets,
        visits=visits,
    )


def _beam(source: SideSource, detail: KeptDetail) -> SidePart:
    kept = range(0, len(source.sets), detail.every)
    sets = [coarser_set(source.sets[n], detail.within) for n in kept]
    visits = [
        BeamVisit(one.set // detail.every, one.repeat, one.begins)
        for one in source.visits
        if one.set % detail.every == 0
    ]
    frames = frames_of(sets)
    names = [output.id for output in output_layers(source.artwork, guides=True)]
    plan = source.prediction.plan
    styles, which = set_styles(sets, plan, source.machine, source.heat, (frames, names))
    columns = visit_columns(visits, sets, which) | set_columns(sets, styles, which, frames)
    return SidePart({"frames": frames.facts, "styles": styles}, columns)


def _index(source: SideSource, detail: KeptDetail) -> SidePart:
    images, sets = source.prediction.heat.images, source.sets[:: detail.every]
    facts, columns = index_columns(images, sets, detail.cells)
    return SidePart({"cells": facts}, columns)


def _outlines(source: SideSource, detail: KeptDetail) -> SidePart:
    parts = outline_numbers(source.artwork.parts, detail.outlines)
    columns = shape_columns(source.artwork, source.corner, detail.outlines)
    return SidePart({"parts": parts, "corner": source.corner}, columns)


PARTS: Mapping[str, Callable[[SideSource, KeptDetail], SidePart]] = {
    "beam": _beam,
    "index": _index,
    "outlines": _outlines,
}
"""How each part is made."""
