"""Anchors in an artwork: the frame whose corners they mark, their lines, and what is in the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, MultiLineString, box

from preprocess.findings import note, stop
from preprocess.geometry.base.bounds import joint_bounds
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.own_marks import OwnMark, guide_layer, new_mark
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.anchors import AnchorLines
from preprocess.units import digits
from preprocess.write.guides.check_square import written_artwork
from preprocess.write.guides.grown_page import grown_to_hold

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from shapely import Polygon

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.anchors import Anchors
    from preprocess.model.bench.machine import Machine

_WITHIN = 1.0
"""mm from the edge of the field to the anchors."""

_ARM = 3.0
"""mm that each arm of an anchor is long; a tenth of the frame in a small one."""

_REACH = 1e-4
"""mm beyond the frame that the writer's rounding can make."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchored:
    """An artwork with its anchors; `added` are the new shapes, for the ledger."""

    artwork: Artwork
    added: tuple[Shape, ...] = ()
    findings: tuple[Finding, ...] = ()


def with_anchors(
    artwork: Artwork, anchors: Anchors, machine: Machine, settings: Mapping[Operation, Settings]
) -> Anchored:
    """The artwork with two corner marks on a layer of their own, after all that it holds.

    Args:
        artwork: as it is to be written; its marks, bars and guides must lie within the frame.
        anchors: what is asked for.
        machine: for its field, and for the least power of lines that are scored.
        settings: of the recipe, for the speed of lines that are scored.
    """
    frame = anchor_frame(artwork, anchors, machine)
    if frame is None:
        message = "anchors have nothing to stand by: no part and no field is known"
        remedy = "name the part, or the machine with its field"
        return Anchored(artwork=artwork, findings=(stop("anchors-without-place", message, remedy),))
    added = [_anchors(artwork, anchors, frame)]
    if anchors.part and artwork.parts:
        added.append(_outline(artwork))
    layers = [_layer(shape, machine, settings) for shape in added]
    page = grown_to_hold(artwork, [shape.geometry for shape in added])
    result = replace(
        artwork,
        page=page,
        shapes=(*artwork.shapes, *added),
        layers=(*artwork.layers, *layers),
    )
    faults = [*_outside(artwork, frame), *_in_the_way(artwork, added[0])]
    return Anchored(
        artwork=result, added=tuple(added), findings=(*faults, _told(added[0], frame, machine))
    )


def anchor_frame(artwork: Artwork, anchors: Anchors, machine: Machine) -> Polygon | None:
    """The rectangle whose corners are marked, in artwork coordinates (mm); None without a place."""
    field = field_box(artwork, machine)
    parts = joint_bounds(artwork.parts)
    if field is not None:
        left, top, right, bottom = field.bounds
        grow = -min(_WITHIN, (right - left) / 10, (bottom - top) / 10)
    elif parts is not None:
        (left, top, right, bottom), grow = parts, anchors.beyond
    else:
        return None
    return box(left - grow, top - grow, right + grow, bottom + grow)


def corner_marks(frame: Polygon, *, falling: bool = True) -> list[MultiLineString]:
    """Marks at two opposite corners: upper left and lower right, or lower left and upper right."""
    left, top, right, bottom = frame.bounds
    arm = min(_ARM, (right - left) / 10, (bottom - top) / 10)
    first, second = (top, bottom) if falling else (bottom, top)
    down = arm if falling else -arm
    return [
        MultiLineString([LineString([(x, y + way), (x, y), (x + along, y)])])
        for x, y, along, way in ((left, first, arm, down), (right, second, -arm, -down))
    ]


def _anchors(artwork: Artwork, anchors: Anchors, frame: Polygon) -> Shape:
    """At the corners that parts and keep-off areas leave free; scored lines are marked there."""
    taken = union([*artwork.parts, *artwork.keep_off])
    choices = [
        MultiLineString([line for mark in corner_marks(frame, falling=way) for line in mark.geoms])
        for way in (True, False)
    ]
    free = [lines for lines in choices if not lines.intersects(taken)]
    scored = anchors.lines is AnchorLines.SCORE
    operation = Operation.SCORE if scored else Operation.GUIDE
    return new_mark(artwork, OwnMark.ANCHORS, (free or choices)[0], operation)


def _layer(shape: Shape, machine: Machine, settings: Mapping[Operation, Settings]) -> Layer:
    """The layer of a mark: a scored one takes the least power and the speed of scored lines."""
    if shape.operation is Operation.GUIDE:
        return guide_layer(shape)
    known = [settings[one] for one in (Operation.SCORE, Operation.ENGRAVE) if one in settings]
    speed = next((one.speed for one in known if one.speed is not None), machine.speed.to)
    faint = Settings(power=machine.power.from_ or machine.power.step, speed=speed, repeats=1)
    return Layer(name=shape.layer, operation=Operation.SCORE, settings={Operation.SCORE: faint})


def _outline(artwork: Artwork) -> Shape:
    rings = shapely.get_rings(shapely.get_parts(artwork.parts))
    return new_mark(artwork, OwnMark.PART, MultiLineString(list(rings)))


def _outside(artwork: Artwork, frame: Polygon) -> Iterable[Finding]:
    """Finding on marks that would make the box of the file another one than that of the anchors."""
    written = written_artwork(artwork).shapes
    whole = joint_bounds(g for s in written for g in (s.geometry, s.bars) if g is not None)
    if whole is None:
        return
    left, top, right, bottom = frame.bounds
    reach = max(left - whole[0], top - whole[1], whole[2] - right, whole[3] - bottom)
    if reach > _REACH:
        message = (
            f"the file reaches {reach:.2f} mm beyond the anchors, so that its box is not theirs, "
            "and placing by the box would shift it"
        )
        remedy = (
            "without a known field give anchors: {beyond: …} more; else make the drawing smaller, "
            "or move it towards the middle of the field"
        )
        yield stop("beyond-the-anchors", message, remedy)


def _in_the_way(artwork: Artwork, anchors: Shape) -> Iterable[Finding]:
    """Scored anchors burn what lies under them: it must be the card."""
    if anchors.operation is Operation.GUIDE:
        return
    bars = [shape.bars for shape in artwork.shapes if shape.bars is not None]
    if anchors.geometry.intersects(union([*artwork.parts, *artwork.keep_off, *bars])):
        message = "scored anchors would cross a part, a keep-off area or a bar"
        remedy = "write anchors: {lines: guide}, or make room in two opposite corners"
        yield stop("anchors-in-the-way", message, remedy)


def _told(anchors: Shape, frame: Polygon, machine: Machine) -> Finding:
    left, top, right, bottom = frame.bounds
    place = "1 mm within the corners of the field" if machine.field else "outside the parts"
    message = (
        f"anchors hold the box of the file: {digits(right - left)} × {digits(bottom - top)} mm, "
        f"{place}, on the layer {anchors.layer}"
    )
    if anchors.operation is Operation.GUIDE:
        return note("anchors", message, "import them as guides, and switch off their output")
    remedy = "they are scored at the least power: a matt card must lie under them, nothing bare"
    return note("anchors", message, remedy)
