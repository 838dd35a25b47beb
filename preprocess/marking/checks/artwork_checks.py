"""Findings on artwork as it would be written: faults that stop or spoil the job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, note, stop, warn
from preprocess.geometry.offset.erosion import simplify_fine_parts
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.checks.clipped_strokes import clipped_stroke_findings
from preprocess.marking.checks.marked_twice import marked_twice
from preprocess.marking.checks.plastic_checks import plastic_findings
from preprocess.marking.checks.run_up import run_up_findings
from preprocess.marking.checks.whole_areas import whole_areas
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import OutputLayer, output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.machine import PowerSteps
from preprocess.units import digits

if TYPE_CHECKING:
    from shapely import Geometry, MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine

_REACH = 1e-4
"""Lengths in mm below this are no fault: half of what the writer's rounding can move."""

_ROOMY = 0.55
"""Radius, in spots, of a disc that always survives erosion by the spot, simplified."""


def check_artwork(artwork: Artwork, bench: Bench) -> tuple[Finding, ...]:
    """All findings about an artwork as it would be written; changes nothing."""
    outputs = output_layers(artwork)
    if not outputs:
        return (_nothing_to_mark(),)
    found = [*plastic_findings(bench), *_lines_to_engrave(artwork)]
    found += [*_off_the_field(artwork, bench.machine_or_default)]
    found += [*_off_the_part(artwork), *_bars_on_the_part(artwork), *_on_keep_off(artwork)]
    if any(bench.reliefs):
        from preprocess.marking.machine.relief_marks import relief_mark_findings

        found += relief_mark_findings(artwork, bench)
    found += run_up_findings(artwork, bench.machine_or_default)
    found += clipped_stroke_findings(artwork)
    found += [*marked_twice(outputs), *_points(outputs, bench.machine_or_default)]
    found += [
        *_settings(outputs, bench.machine),
        *_below_the_spot(outputs, bench.machine_or_default),
    ]
    found += _levels_alike(artwork)
    return (*found, *_turned_off(artwork, bench))


def _nothing_to_mark() -> Finding:
    return stop(
        "nothing-to-mark",
        "the drawing holds nothing to mark",
        "check that the shapes are visible, filled or stroked, and not in the page's colour",
    )


def _ids(shapes: list[Shape]) -> list[str]:
    return list(dict.fromkeys(shape.id for shape in shapes))


def _lines_to_engrave(artwork: Artwork) -> list[Finding]:
    lines = [s for s in artwork.shapes if s.operation is Operation.ENGRAVE and not s.is_area]
    if not lines:
        return []
    message = f"{_count(lines, 'line')} cannot be engraved: only areas have rows"
    remedy = "put strokes-to-areas among the passes, or give these lines a layer to score"
    return [stop("line-to-engrave", message, remedy, elements=_ids(lines))]


def _levels_alike(artwork: Artwork) -> list[Finding]:
    """Levels that were cut and then given no powers: colours to set up for nothing."""
    found = []
    for layer in artwork.layers:
        mine = [shape for shape in artwork.shapes_of(layer.name) if shape.grey is None]
        levels = {shape.level for shape in mine} - {None}
        if len(levels) > 1 and not layer.shares:
            message = f"all {len(levels)} levels of {layer.name} keep the power of their layer"
            cutter = "interleave" if _rounds(artwork, layer.name) else "tag-power"
            remedy = f"give {cutter} its powers, or put solve-power last among the passes"
            found.append(warn("levels-without-power", message, remedy))
    return found


def _rounds(artwork: Artwork, layer: str) -> bool:
    return any(shape.round is not None for shape in artwork.shapes_of(layer))


def _off_the_field(artwork: Artwork, machine: Machine) -> list[Finding]:
    field = field_box(artwork, machine)
    if field is None:
        return []
    out = _shapes_outside(artwork, field)
    if not out:
        return []
    worst = max(_reach(shape, field) for shape in out)
    width, height = machine.field or (0.0, 0.0)
    message = (
        f"{_count(out, 'shape')} would leave the field of {digits(width)} × {digits(height)} mm, "
        f"by up to {worst:.2f} mm"
    )
    remedy = "make the drawing smaller with place, or move it towards the middle of the field"
    return [_at(stop("off-the-field", message, remedy, elements=_ids(out)), out[0])]


def _shapes_outside(artwork: Artwork, area: Geometry) -> list[Shape]:
    allowed = area.buffer(_REACH)
    marked = [s for s in artwork.shapes if s.operation is not Operation.GUIDE]
    return [s for s in marked if not all(allowed.covers(g) for g in _struck(s))]


def _struck(shape: Shape) -> list[Geometry]:
    return [shape.geometry, shape.bars] if shape.bars else [shape.geometry]


def _reach(shape: Shape, area: Geometry) -> float:
    left, top, right, bottom = area.bounds
    worst = 0.0
    for geometry in _struck(shape):
        x0, y0, x1, y1 = geometry.bounds
        worst = max(worst, left - x0, top - y0, x1 - right, y1 - bottom)
    return worst


def _off_the_part(artwork: Artwork) -> list[Finding]:
    if not artwork.parts:
        return []
    part = union(artwork.parts).buffer(_REACH)
    marked = [s for s in artwork.shapes if s.operation is not Operation.GUIDE]
    out = [s for s in marked if not part.covers(s.geometry)]
    if not out:
        return []
    message = (
        f"pieces of {_count(out, 'shape')} reach beyond the part's outline and mark what lies below"
    )
    remedy = "move or shrink the artwork with place, or correct the part's outline"
    return [_at(warn("beyond-the-part", message, remedy, elements=_ids(out)), out[0])]


def _bars_on_the_part(artwork: Artwork) -> list[Finding]:
    barred = [s for s in artwork.shapes if s.bars is not None]
    parts = union(artwork.parts)
    struck = [s for s in barred if s.bars is not None and parts.intersects(s.bars)]
    if not struck:
        return []
    message = f"bars of {_count(struck, 'shape')} would mark the part itself"
    remedy = "give equalize-width more clearance, or correct the part's outline"
    return [stop("bar-on-the-part", message, remedy, elements=_ids(struck))]


def _on_keep_off(artwork: Artwork) -> list[Finding]:
    if not artwork.keep_off:
        return []
    forbidden = union(artwork.keep_off).buffer(-_REACH)
    marked = [s for s in artwork.shapes if s.operation is not Operation.GUIDE]
    struck = [s for s in marked if any(forbidden.intersects(g) for g in _struck(s))]
    if not struck:
        return []
    message = f"{_count(struck, 'shape')} would mark a keep-off area"
    remedy = "move the artwork or the clip: nothing may be marked there"
    return [_at(stop("on-keep-off", message, remedy, elements=_ids(struck)), struck[0])]


def _points(outputs: tuple[OutputLayer, ...], machine: Machine) -> list[Finding]:
    if machine.max_points is None:
        return []
    points = sum(int(shapely.get_num_coordinates(s.geometry)) for o in outputs for s in o.shapes)
    if points <= machine.max_points:
        return []
    message = f"the output has {points} points, but the software takes at most {machine.max_points}"
    remedy = "put simplify with up_to last among the passes, or split the design over several files"
    return [stop("too-many-points", message, remedy)]


def _settings(outputs: tuple[OutputLayer, ...], machine: Machine | None) -> list[Finding]:
    powers = machine.power if machine else PowerSteps(from_=0.0)
    low, high = powers.from_, min(powers.to, 1.0)
    found = []
    for output in outputs:
        power, speed = output.settings.power, output.settings.speed
        if power is not None and not _within(power, low, high):
            message = (
                f"{output.id} asks for {digits(100 * power, 4)} % power, which the machine cannot "
                "set"
            )
            remedy = f"choose between {digits(100 * low)} % and {digits(100 * high)} %"
            found.append(stop("power-out-of-range", message, remedy))
        if machine is None or speed is None:
            continue
        if not _within(speed, machine.speed.from_, machine.speed.to):
            message = f"{output.id} asks for {digits(speed)} mm/s, which the machine cannot do"
            remedy = (
                f"choose between {digits(machine.speed.from_)} and {digits(machine.speed.to)} mm/s"
            )
            found.append(stop("speed-out-of-range", message, remedy))
    return found


def _within(value: float, low: float, high: float) -> bool:
    slack = 1e-9 * high
    return low - slack <= value <= high + slack


def _below_the_spot(outputs: tuple[OutputLayer, ...], machine: Machine) -> list[Finding]:
    if machine.spot is None:
        return []
    shapes = whole_areas([shape for output in outputs for shape in output.shapes])
    vanishing = _vanishing([shape.geometry for shape in shapes], machine.spot)
    thin = [shapes[number] for number in vanishing]
    if not thin:
        return []
    message = (
        f"{_count(thin, 'shape')} with pieces narrower than the spot of "
        f"{digits(machine.spot)} mm: they will come out wider than drawn, or as dots"
    )
    remedy = "thicken them in the drawing, or score them as lines"
    return [_at(warn("below-the-spot", message, remedy, elements=_ids(thin)), thin[0])]


def _vanishing(areas: list[MultiPolygon], spot: float) -> list[int]:
    """Numbers of the areas with a piece that is nowhere as wide as the spot.

    One without holes holds a disc whose radius is its area over its perimeter (R. Osserman, Amer.
    Math. Monthly 86, 1979), so that most need not be eroded.
    """
    pieces, owner = shapely.get_parts(np.array(areas, dtype=object), return_index=True)
    surely = shapely.area(pieces) > _ROOMY * spot * shapely.length(pieces)
    doubtful = ~surely | (shapely.get_num_interior_rings(pieces) > 0)
    pieces, owner = pieces[doubtful], owner[doubtful]
    eroded = shapely.buffer(simplify_fine_parts(pieces, spot / 50), -spot / 2, quad_segs=2)
    gone = shapely.is_empty(eroded)
    return list(dict.fromkeys(owner[gone].tolist()))


def _turned_off(artwork: Artwork, bench: Bench) -> list[Finding]:
    missing = []
    if not artwork.parts:
        missing.append("no part is given: not checked whether the artwork lies on it")
    if bench.machine_or_default.field is None:
        missing.append("the machine's field is missing: not checked whether the beam reaches")
    if bench.machine_or_default.spot is None:
        missing.append("the machine's spot size is missing: not checked for features too fine")
    remedy = "name part, machine and its field and spot in the recipe"
    return [note("check-turned-off", message, remedy) for message in missing]


def _count(things: list[Shape], noun: str) -> str:
    return f"{len(things)} {noun}{'' if len(things) == 1 else 's'}"


def _at(finding: Finding, shape: Shape) -> Finding:
    point = shape.geometry.representative_point()
    line = shape.sources[0].line if shape.sources else None
    return replace(finding, spot=(point.x, point.y), line=line, layer=shape.layer)
