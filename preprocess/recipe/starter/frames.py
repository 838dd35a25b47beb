"""A closed line without an id around all the rest: a frame, or an outline; a person knows."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import shapely
from shapely import Polygon

from preprocess.errors import UserError
from preprocess.model.bench.part import Part
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

_STEP = re.compile(r"([A-Za-z][\w-]*)\[(\d+)\]\Z", re.ASCII)


def nameless_frame(artwork: Artwork, data: bytes, name: str) -> tuple[Shape, str] | None:
    """The frame and a CSS selector that chooses it alone; None without one."""
    for shape in artwork.shapes:
        selector = selector_of(shape.sources[0].id)
        if selector is None or shape.stroke is None:
            continue
        half = shape.stroke.width_mm / 2 + 1e-6
        around = encloses_rest(shape, artwork, half)
        if around and _chooses_it_alone(selector, artwork, shape, data, name):
            return shape, selector
    return None


def closed_line(shape: Shape) -> Polygon | None:
    """The area within a stroke that is one closed line; None where it is anything else."""
    lines = shapely.get_parts(shape.geometry)
    if shape.stroke is None or len(lines) != 1 or not lines[0].is_ring:
        return None
    return Polygon(lines[0])


def encloses_rest(shape: Shape, artwork: Artwork, over: float) -> bool:
    """Test whether a closed line goes around all others, which may reach over it by so many mm."""
    ring = closed_line(shape)
    if ring is None:
        return False
    within = ring.buffer(over)
    others = [other.geometry for other in artwork.shapes if other is not shape]
    return bool(others) and all(within.covers(other) for other in others)


def selector_of(path: str) -> str | None:
    """The CSS selector of an element without id, from its path of positions; None with an id."""
    root, *steps = path.split("/")
    found = [_STEP.match(step) for step in steps]
    if root != "svg" or not steps or not all(found):
        return None
    ways = (f"{one[1]}:nth-of-type({one[2]})" for one in found if one is not None)
    return " > ".join(["svg", *ways])


def _chooses_it_alone(
    selector: str, artwork: Artwork, frame: Shape, data: bytes, name: str
) -> bool:
    try:
        without = read(data, name, ReadingOptions(parts=(Part(outline=selector),))).artwork
    except UserError:
        return False
    left = [shape.id for shape in artwork.shapes if shape is not frame]
    return [shape.id for shape in without.shapes] == left
