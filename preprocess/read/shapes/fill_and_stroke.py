"""From painted elements to geometry in mm: areas of fills, lines and areas of strokes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.affine import map_points
from preprocess.geometry.base.normalise import NO_LINES, NOTHING
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.lines.dashes import cut_into_dashes
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.geometry.overlay.arrangement import fill_contours, fill_single_contours
from preprocess.model.artwork.shape import Stroke
from preprocess.read.shapes.flatten import MOST_VERTICES, Contour, FlattenJob, flatten_paths
from preprocess.read.shapes.regions import intersect_clip
from preprocess.read.xml.affine import inverse_matrix, largest_stretch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Floats
    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import PaintedOutline, StrokeStyle


_DOT = 1e-5
"""Length in mm of the line that stands for a dot, and of the gap that keeps a line from closing."""


def flatten_outlines(
    painted: Sequence[PaintedOutline], tolerance: float, most: int = MOST_VERTICES
) -> list[list[Contour]]:
    """The contours of many painted elements at once; at most so many points together.

    Raises:
        UserError: there are more.
    """
    jobs = [FlattenJob(one.path, one.matrix, _width_mm(one.pen)) for one in painted]
    return flatten_paths(jobs, tolerance, most)


def _width_mm(pen: StrokeStyle | None) -> float:
    return pen.width * largest_stretch(pen.matrix) if pen else 0.0


def fill_rule_area(painted: PaintedOutline, contours: Sequence[Contour]) -> MultiPolygon:
    """The area inside the outline by its fill rule."""
    points = [contour.points for contour in contours]
    return fill_contours(points, "evenodd" if painted.rule == "evenodd" else "nonzero")


def fill_area(
    painted: PaintedOutline, contours: Sequence[Contour], whole: MultiPolygon | None = None
) -> MultiPolygon:
    """The area inside the outline, within the clip; `whole` is that without, where it is known."""
    area = fill_rule_area(painted, contours) if whole is None else whole
    return intersect_clip(painted.clip, area)


def simple_areas(
    painted: Sequence[PaintedOutline], outlines: Sequence[Sequence[Contour]]
) -> list[MultiPolygon | None]:
    """The areas of fills of a single contour that crosses nothing; None for all others."""
    found: list[MultiPolygon | None] = [None] * len(painted)
    single = [
        number
        for number, (one, contours) in enumerate(zip(painted, outlines, strict=True))
        if one.pen is None and len(contours) == 1
    ]
    areas = fill_single_contours([outlines[number][0].points for number in single])
    for number, area in zip(single, areas, strict=True):
        found[number] = area
    return found


def model_stroke(pen: StrokeStyle, clip: MultiPolygon | None) -> Stroke:
    """The pen as the model holds it."""
    return Stroke(
        width=pen.width,
        cap=pen.cap,
        join=pen.join,
        miter_limit=pen.miter_limit,
        matrix=pen.matrix,
        within=clip,
    )


def stroke_lines(pen: StrokeStyle, contours: Sequence[Contour]) -> MultiLineString:
    """The centre line of a stroke in mm with its dashes, before clips."""
    if pen.dashes:
        lines = [line for contour in contours for line in _dashes(pen, contour, contours)]
    else:
        lines = [line for contour in contours if (line := _line(contour, pen)) is not None]
    return _multiline(lines) if lines else NO_LINES


def _multiline(lines: Sequence[Floats]) -> MultiLineString:
    """Lines of two points and more as one geometry."""
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return shapely.multilinestrings(shapely.linestrings(np.concatenate(lines), indices=owner))


def stroke_area(
    painted: PaintedOutline, contours: Sequence[Contour], tolerance: float
) -> MultiPolygon:
    """The area that a stroke paints, within the clip."""
    if painted.pen is None:
        return NOTHING
    lines = stroke_lines(painted.pen, contours)
    return outline_stroke(lines, model_stroke(painted.pen, painted.clip), tolerance=tolerance)


def painted_areas(painted: Sequence[PaintedOutline], tolerance: float) -> list[MultiPolygon]:
    """The area that each fill or stroke paints, within its clip."""
    return [
        stroke_area(one, contours, tolerance) if one.pen else fill_area(one, contours)
        for one, contours in zip(painted, flatten_outlines(painted, tolerance), strict=True)
    ]


def too_many_dashes(pen: StrokeStyle, contours: Sequence[Contour]) -> bool:
    """Test whether the dashes exceed the limit on their number; the line counts as solid then."""
    if not pen.dashes:
        return False
    return _length(pen, contours) / sum(pen.dashes) * len(pen.dashes) / 2 > pen.most_dashes


def _line(contour: Contour, pen: StrokeStyle) -> Floats | None:
    """An open or closed line; rings repeat their first point, open lines never end in it."""
    points = _without_repeats(contour.points)
    if len(points) == 1:
        return None if pen.cap == "butt" else _dot(points[0], pen.matrix)
    if contour.closed:
        return np.vstack((points, points[:1])) if len(points) > 1 else points
    if (points[0] == points[-1]).all():
        step = points[-1] - points[-2]
        points = points.copy()
        points[-1] = round_coordinates(points[-1] - step / math.hypot(*step) * _DOT)
    return points


def _without_repeats(points: Floats) -> Floats:
    keep = np.append([True], (np.diff(points, axis=0) != 0).any(axis=1))
    return points[keep]


def _dot(point: Floats, matrix: Matrix) -> Floats:
    """A line too short to see, along the x axis of the stroke's space, so that caps are drawn."""
    along = np.array(matrix[:2])
    return np.vstack(
        (point, round_coordinates(point + along / max(math.hypot(*along), 1e-300) * _DOT))
    )


def _dashes(pen: StrokeStyle, contour: Contour, contours: Sequence[Contour]) -> list[Floats]:
    local = map_points(contour.line, inverse_matrix(pen.matrix))
    if len(_without_repeats(contour.points)) == 1:
        line = _line(contour, pen)
        return [] if line is None else [line]
    scale = _length(pen, contours) / pen.path_length if pen.path_length else 1.0
    pattern = [dash * scale for dash in pen.dashes]
    cut = cut_into_dashes(
        local, pattern, pen.dash_offset * scale, closed=contour.closed, most=pen.most_dashes
    )
    if not cut:
        return []
    ends = np.cumsum([len(dash) for dash in cut])
    dashes = np.split(round_coordinates(map_points(np.concatenate(cut), pen.matrix)), ends[:-1])
    if min(pattern[::2]) == 0 or (len(pattern) % 2 and min(pattern) == 0):
        return dashes
    # A dash that would begin where the line ends is not meant to leave its caps there.
    return [dash for dash in dashes if len(dash) > 2 or math.dist(*dash) > _DOT]  # noqa: PLR2004


def _length(pen: StrokeStyle, contours: Sequence[Contour]) -> float:
    """Length of all contours in px of the stroke's own space."""
    steps = (
        np.diff(map_points(contour.line, inverse_matrix(pen.matrix)), axis=0)
        for contour in contours
    )
    return sum(float(np.hypot(*step.T).sum()) for step in steps)
