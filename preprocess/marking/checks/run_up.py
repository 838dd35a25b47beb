"""The run-up of a gantry: the way that it needs before and after each row, v²/2a.

The field must hold it, or the overscan where the software adds one; and an overscan must hold it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely

from preprocess.findings import Finding, stop, warn
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.machine.machine_field import field_box
from preprocess.marking.machine.motion import motion_of
from preprocess.model.artwork.output import OutputLayer, output_layers
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import Polygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine

_REACH = 1e-4
"""mm beyond the field that are no fault: what the writer's rounding can move."""


def run_up_findings(artwork: Artwork, machine: Machine) -> Iterator[Finding]:
    """Layers whose rows leave less of the field on each side than the axis needs to get up speed.

    Rows are swept at constant speed v; an axis with acceleration a reaches it over v²/2a, and
    comes to rest over as much.
    """
    field, motion = field_box(artwork, machine), motion_of(machine)[0]
    acceleration = motion.acceleration
    if acceleration is None:
        return
    for output in output_layers(artwork):
        speed = output.settings.speed
        if output.operation is not Operation.ENGRAVE or speed is None:
            continue
        needed = speed**2 / (2 * acceleration)
        if motion.overscan is not None and needed > motion.overscan + _REACH:
            yield _short_overscan(output, (needed, motion.overscan), acceleration, machine)
        room = math.inf if field is None else room_along_rows(output, field)
        if needed > room + _REACH:
            yield _too_fast(output, (needed, room), acceleration, machine)
        elif (motion.overscan or 0.0) > room + _REACH:
            yield _long_overscan(output, motion.overscan or 0.0, room)


def room_along_rows(output: OutputLayer, field: Polygon) -> float:
    """Least way along the rows, mm, from any end of a row to the edge of the field."""
    areas = [g for s in output.shapes for g in (s.geometry, s.bars) if g is not None]
    left, top, right, bottom = shapely.total_bounds(areas)
    x0, y0, x1, y1 = field.bounds
    cos, sin = (abs(part) for part in RowFrame(output.settings.angle or 0.0).cos_sin)
    sides = ((cos, min(left - x0, x1 - right)), (sin, min(top - y0, y1 - bottom)))
    return max(0.0, min(free / share for share, free in sides if share > 0))


def _too_fast(
    output: OutputLayer, lengths: tuple[float, float], acceleration: float, machine: Machine
) -> Finding:
    needed, room = lengths
    message = (
        f"{need_words(output, needed, acceleration, machine)}, but the field leaves {room:.1f} mm"
    )
    slower = _slower(room, acceleration, machine)
    remedy = (
        f"{slower}make the drawing smaller with place, or move it towards the middle of the field"
    )
    if machine.acceleration is not None:
        return stop("run-up-beyond-field", message, remedy)
    return warn("run-up-beyond-field", message, f"name the machine's acceleration; {remedy}")


def _short_overscan(
    output: OutputLayer, lengths: tuple[float, float], acceleration: float, machine: Machine
) -> Finding:
    needed, added = lengths
    message = (
        f"{need_words(output, needed, acceleration, machine)}, but the software adds "
        f"{added:.1f} mm: their ends are marked below speed, and so too heavily"
    )
    slower = _slower(added, acceleration, machine)
    remedy = f"{slower}let the software add {needed:.1f} mm, and give that as overscan"
    if machine.acceleration is not None:
        return stop("overscan-below-run-up", message, remedy)
    return warn("overscan-below-run-up", message, f"name the machine's acceleration; {remedy}")


def need_words(output: OutputLayer, needed: float, acceleration: float, machine: Machine) -> str:
    """The run-up that rows need, in words."""
    assumed = "an assumed " if machine.acceleration is None else ""
    return (
        f"rows of {output.id} at {output.settings.speed:.0f} mm/s need {needed:.1f} mm of run-up "
        f"on each side, at {assumed}{acceleration:.0f} mm/s²"
    )


def _slower(room: float, acceleration: float, machine: Machine) -> str:
    """Beginning of a remedy: the largest whole speed whose run-up fits, if the machine has it."""
    fits = math.floor(math.sqrt(2 * acceleration * room))
    return f"mark it at {fits} mm/s at most, or " if fits and fits >= machine.speed.from_ else ""


def _long_overscan(output: OutputLayer, added: float, room: float) -> Finding:
    message = (
        f"the software adds {added:.1f} mm at both ends of the rows of {output.id}, but the field "
        f"leaves {room:.1f} mm"
    )
    remedy = "let it add less, make the drawing smaller, or move it towards the middle of the field"
    return stop("overscan-beyond-field", message, remedy)
