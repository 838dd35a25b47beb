"""The path that text runs along. Source: SVG 2, section 11.8."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.read.shapes.basic_shapes import shape_path
from preprocess.read.shapes.flatten import FlattenJob, flatten_paths
from preprocess.read.style.element_style import style_at
from preprocess.read.xml.affine import IDENTITY, parse_transform_list
from preprocess.read.xml.elements import SHAPES, href_of
from preprocess.read.xml.lengths import Units, split_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper

    from preprocess.arrays import Floats
    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.letters import Span


_FINE = 2e-6
"""Curves are cut so finely, as a share of the font size, that letters stand upright on them."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """A path as pieces from `start` to `end` points, `far` lengths from its beginning.

    `offset` is where the text begins, in user units along it.
    """

    start: Floats
    end: Floats
    far: Floats
    length: float
    offset: float

    def at(self, distance: float) -> tuple[float, float, float] | None:
        """Point and angle (radians) at a distance; None beyond the ends."""
        if not 0 <= distance <= self.length:
            return None
        piece = min(int(np.searchsorted(self.far, distance, side="right")), len(self.far)) - 1
        step = self.end[piece] - self.start[piece]
        size = math.hypot(*step)
        x, y = self.start[piece] + step * ((distance - self.far[piece]) / size)
        return float(x), float(y), math.atan2(step[1], step[0])

    @property
    def finish(self) -> tuple[float, float]:
        """Its last point."""
        return float(self.end[-1][0]), float(self.end[-1][1])


def text_path_track(scene: Scene, element: ElementWrapper, span: Span) -> Track | None:
    """The path that a textPath names; None when there is none, with a remark."""
    href = href_of(element)
    target = scene.target(href)
    if target is None or target.local_name not in SHAPES:
        scene.say(span.visit, "broken-reference", f"textPath {href[:60]}")
        return None
    units = scene.units(span.context)
    style = style_at(target, scene.cascade, units)
    attributes = target.etree_element.attrib
    path, _ = shape_path(target.local_name, attributes, style, units)
    matrix = parse_transform_list(style("transform"), units) or IDENTITY
    contours = flatten_paths([FlattenJob(path, matrix)], max(span.style.font, 1e-3) * _FINE)[0]
    lines = [contour.line for contour in contours]
    if element.etree_element.attrib.get("side", "").strip().lower() == "right":
        lines = [line[::-1] for line in lines[::-1]]
    return _measured(lines, element, attributes.get("pathLength"), units)


def _measured(
    lines: Sequence[Floats], element: ElementWrapper, path_length: str | None, units: Units
) -> Track | None:
    if not lines:
        return None
    start = np.concatenate([line[:-1] for line in lines])
    end = np.concatenate([line[1:] for line in lines])
    sizes = np.hypot(*(end - start).T)
    start, end, sizes = start[sizes > 0], end[sizes > 0], sizes[sizes > 0]
    if not len(sizes):
        return None
    far, length = np.cumsum(sizes) - sizes, float(sizes.sum())
    text = element.etree_element.attrib.get("startOffset", "0")
    split = split_length(text)
    if split and split[1] == "%" and math.isfinite(split[0]):
        offset = split[0] / 100 * length
    else:
        said = units.length(path_length)
        offset = units.length(text) * (length / said if said > 0 else 1.0)
    return Track(start, end, far, length, offset)
