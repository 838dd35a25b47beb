"""Styles of sets: what many have in common, so that ten thousand of them say it once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.job.plan import LineWork
from preprocess.marking.machine.motion import motion_of
from preprocess.playback.block.beam_sets import LineSet
from preprocess.playback.block.playback_facts import to_nine_digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.job.plan import Plan, RasterGroup
    from preprocess.marking.machine.motion import Motion
    from preprocess.model.bench.machine import Machine
    from preprocess.playback.block.beam_sets import RowSet
    from preprocess.playback.block.heat_constants import HeatConstants


@dataclass(frozen=True, slots=True)
class Frames:
    """Row frames by angle, and the corner (u, v, mm) from which lengths are counted in each."""

    corner: dict[float, tuple[float, float]]

    @property
    def facts(self) -> list[dict[str, float]]:
        """The frames for the head of the block."""
        turns = [(angle, RowFrame(angle).cos_sin) for angle in self.corner]
        return [
            {"angle": angle, "cos": cos, "sin": sin, "u": u, "v": v}
            for (angle, (cos, sin)), (u, v) in zip(turns, self.corner.values(), strict=True)
        ]


def frames_of(sets: Sequence[RowSet | LineSet]) -> Frames:
    """The frames of all sets; lines lie on the page as it is."""
    least: dict[float, list[tuple[float, float]]] = {}
    for one in sets:
        if isinstance(one, LineSet):
            corner = np.concatenate(one.lines).min(axis=0).tolist()
            least.setdefault(0.0, []).append(tuple(corner))
        else:
            corner = float(one.pieces.start.min()), float(one.v.min())
            least.setdefault(one.angle, []).append(corner)
    return Frames(
        {
            angle: (float(np.floor(min(u))), float(np.floor(min(v))))
            for angle, (u, v) in ((angle, zip(*some, strict=True)) for angle, some in least.items())
        }
    )


def set_styles(
    sets: Sequence[RowSet | LineSet],
    plan: Plan,
    machine: Machine,
    heat: HeatConstants,
    named: tuple[Frames, Sequence[str]],
) -> tuple[list[dict[str, Any]], list[int]]:
    """The styles for the head of the block, and the number of that of each set.

    Speeds in mm/s, `energy` in J per mm, `scale` is the index of 1 K. `turn` is the time between
    two rows, `back` what each mm of a row's width adds to it. `own` are, for each solid, when a row
    is hottest after the beam has passed, and by how much it is so less than in local time.
    `named` are the frames, and the names of the output layers as they are numbered.
    """
    frames, names = named
    motion, _ = motion_of(machine)
    powers, frame = plan.powers, {angle: n for n, angle in enumerate(frames.corner)}
    known: dict[tuple[Any, ...], int] = {}
    every: list[dict[str, Any]] = []
    which = []
    for one in sets:
        step = plan.steps[one.step]
        traced = isinstance(one, LineSet)
        own = (0.0, 0.0, 0.0) if isinstance(one, LineSet) else (one.angle, one.pitch, one.energy)
        place = known.setdefault((step.output.id, traced, *own), len(every))
        which.append(place)
        if place < len(every):
            continue
        style = {
            "layer": names.index(step.output.id),
            "frame": frame[own[0]],
            "speed": step.settings.speed or 0.0,
            "power": powers[step.output.id],
            **_of_kind(one, step, motion, heat),
        }
        every.append(to_nine_digits(style))
    return every, which


def _of_kind(
    one: RowSet | LineSet, step: RasterGroup | LineWork, motion: Motion, heat: HeatConstants
) -> dict[str, Any]:
    speed = step.settings.speed or 0.0
    if isinstance(one, LineSet):
        return {"kind": "scored"}
    warming = {
        "pitch": one.pitch,
        "energy": one.energy,
        "scale": heat.scale(step, speed),
        "own": heat.own_rows(speed),
        "gapSpeed": motion.across_gaps(speed),
    }
    if isinstance(step, LineWork):
        return {"kind": "own rows", "turn": 0.0, "back": 0.0, **warming}
    direction = step.settings.direction
    turn, wider = (float(t) for t in motion.between_rows(speed, np.array([0.0, 1.0]), direction))
    return {"kind": "rows", "turn": turn, "back": wider - turn, **warming}
