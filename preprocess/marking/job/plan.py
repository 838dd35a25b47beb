"""The job as the laser software will do it: which paths are swept together, and in what order.

Output layers follow one another in the order of their colours, the paths of a layer in the order
of the file. What the drawing does not say is taken as in `preset`: rows at angle 0, one-way, once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.job.grey_rows import GreyRows, grey_rows, row_angle
from preprocess.model.artwork.output import OutputLayer, output_layers
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.machine import FirstRow, Machine, RasterGroups

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Floats
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.shape import Shape

USUAL_SETTINGS = Settings(direction=Direction.ONE_WAY, angle=0.0, repeats=1)
"""Defaults of a layer that leaves them open."""

_GUARD = 1e-9
"""Share of a pitch by which a row may miss an edge through the rounding of numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RasterGroup:
    """Areas that are swept together: rows from the first lit point to the last, bars included.

    `area` is artwork and bars on the page (mm). Rows lie at v = first + k · pitch, k < count, in
    the frame turned by `angle`; not each of them need be lit. `pause` comes before the group.
    `settings` have direction, angle and repeats filled in. Of an image of greys, `grey` holds the
    power of every cell.
    """

    output: OutputLayer
    shapes: tuple[Shape, ...]
    area: MultiPolygon
    angle: float
    pitch: float
    first: float
    count: int
    settings: Settings
    pause: float = 0.0
    grey: GreyRows | None = None

    @property
    def rows(self) -> Floats:
        """The v of every row, mm, ascending."""
        return np.asarray(self.first + self.pitch * np.arange(self.count), dtype=np.float64)

    @property
    def repeats(self) -> int:
        """Number of times the whole layer of the group is marked."""
        return self.settings.repeats or 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWork:
    """Lines of one output layer that the beam traces: scored or cut."""

    output: OutputLayer
    lines: MultiLineString
    settings: Settings
    pause: float = 0.0

    @property
    def repeats(self) -> int:
        """Number of traces of the whole layer."""
        return self.settings.repeats or 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All steps in marking order.

    `unplanned` names output layers that cannot be swept as they stand: engraving without a pitch,
    engraving that still holds lines (whose areas are planned nevertheless), and images of greys
    for a machine whose curve is not known.
    """

    steps: tuple[RasterGroup | LineWork, ...]
    unplanned: tuple[str, ...] = ()

    @property
    def powers(self) -> dict[str, float]:
        """Power of each output layer by its id, a share; full where none is set.

        Of images of greys it is the mean over their lit cells.
        """
        return {step.output.id: _power_of(step) for step in self.steps}


def plan_of(artwork: Artwork, machine: Machine) -> Plan:
    """Plan the steps in which the software of a machine marks the artwork."""
    steps: list[RasterGroup | LineWork] = []
    unplanned = []
    for output in output_layers(artwork):
        pause = machine.layer_pause if steps else 0.0
        mine = _steps(output, artwork.page, machine, pause)
        steps.extend(mine)
        if _incomplete(output, machine):
            unplanned.append(output.id)
    return Plan(steps=tuple(steps), unplanned=tuple(unplanned))


def _power_of(step: RasterGroup | LineWork) -> float:
    if isinstance(step, RasterGroup) and step.grey is not None:
        return step.grey.mean_power
    return step.settings.power or 1.0


def plan_with_powers(plan: Plan, powers: Mapping[str, float]) -> Plan:
    """The plan with other powers (shares) of some output layers, by their ids."""
    steps = (
        replace(step, settings=replace(step.settings, power=powers[step.output.id]))
        if step.output.id in powers
        else step
        for step in plan.steps
    )
    return replace(plan, steps=tuple(steps))


def _incomplete(output: OutputLayer, machine: Machine) -> bool:
    if output.operation is not Operation.ENGRAVE:
        return False
    if output.in_greys and machine.grey is None:
        return True
    return output.settings.pitch is None or any(not shape.is_area for shape in output.shapes)


def _steps(
    output: OutputLayer, page: Page, machine: Machine, pause: float
) -> list[RasterGroup | LineWork]:
    settings = output.settings.over(USUAL_SETTINGS)
    if output.operation is not Operation.ENGRAVE:
        lines = traced_lines(output.shapes)
        work = LineWork(output=output, lines=lines, settings=settings, pause=pause)
        return [] if lines.is_empty else [work]
    if settings.pitch is None:
        return []
    swept = _swept_together(output, machine)
    pauses = [pause] + [0.0] * len(swept)
    frame = (settings.angle or 0.0, settings.pitch, machine.first_row, page)
    return [
        _image(output, shapes[0], settings, machine, wait)
        if shapes[0].grey is not None
        else _group(output, shapes, settings, frame, wait)
        for shapes, wait in zip(swept, pauses, strict=False)
    ]


def _swept_together(output: OutputLayer, machine: Machine) -> list[tuple[Shape, ...]]:
    areas = tuple(s for s in output.shapes if s.is_engraved_area and not s.geometry.is_empty)
    if machine.grey is None:  # of which no power is known
        areas = tuple(shape for shape in areas if shape.grey is None)
    if machine.raster_groups is RasterGroups.EACH_PATH:
        return [(shape,) for shape in areas]
    plain = tuple(shape for shape in areas if shape.grey is None)
    images = ((shape,) for shape in areas if shape.grey is not None)
    return [*([plain] if plain else []), *images]


def _group(
    output: OutputLayer,
    shapes: tuple[Shape, ...],
    settings: Settings,
    frame: tuple[float, float, FirstRow, Page],
    pause: float,
) -> RasterGroup:
    angle, pitch, rule, page = frame
    area = _struck(shapes)
    first, count = row_grid(area, angle, pitch, first_row=rule, page=page)
    return RasterGroup(
        output=output,
        shapes=shapes,
        area=area,
        angle=angle,
        pitch=pitch,
        first=first,
        count=count,
        settings=settings,
        pause=pause,
    )


def _image(
    output: OutputLayer, shape: Shape, settings: Settings, machine: Machine, pause: float
) -> RasterGroup:
    """One image of greys: its rows lie where its cells do, whatever the rule for areas."""
    if shape.grey is None or machine.grey is None:
        raise ValueError(f"{shape.id}: greys need the machine's curve")
    angle = row_angle(shape.grey, settings.angle or 0.0)
    rows = grey_rows(shape.grey, machine.grey, angle)
    return RasterGroup(
        output=output,
        shapes=(shape,),
        area=shape.geometry,
        angle=angle,
        pitch=rows.pitch,
        first=rows.first,
        count=len(rows.power),
        settings=settings,
        pause=pause,
        grey=rows,
    )


def _struck(shapes: tuple[Shape, ...]) -> MultiPolygon:
    """Artwork and bars in one area; a single path without bars is left as it is."""
    areas = [s.geometry for s in shapes] + [s.bars for s in shapes if s.bars is not None]
    if len(areas) == 1 and isinstance(areas[0], MultiPolygon):
        return areas[0]
    return union(areas)


def row_grid(
    area: MultiPolygon, angle: float, pitch: float, *, first_row: FirstRow, page: Page
) -> tuple[float, int]:
    """The v of the first row (mm) and the number of rows of an area swept by itself.

    `edge` begins on the area's uppermost edge, `half-pitch` half a pitch below it, `page` on the
    first multiple of the pitch, counted from the upper left corner of the page.
    """
    _, top, _, bottom = RowFrame(angle).to_rows(area).bounds
    first = float(top)
    if first_row is FirstRow.HALF_PITCH:
        first = float(top) + pitch / 2
    elif first_row is FirstRow.PAGE:
        _, origin = RowFrame(angle).to_uv(page.left, page.top)
        first = origin + pitch * math.ceil((top - origin) / pitch - _GUARD)
    return first, max(0, math.ceil((bottom - first) / pitch - _GUARD))


def traced_lines(shapes: tuple[Shape, ...]) -> MultiLineString:
    """The lines that the beam traces: lines as they are, outlines of areas."""
    lines = [s.geometry.boundary if s.is_area else s.geometry for s in shapes]
    parts = shapely.get_parts(np.asarray(lines, dtype=object))
    return MultiLineString(list(parts))
