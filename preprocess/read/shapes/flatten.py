"""All paths of a document to polylines in mm at once.

Curves are mapped to mm first and flattened there, so that the tolerance holds on the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from preprocess.errors import UserError, wrong
from preprocess.geometry.base.flatten import count_pieces, flatten_cubics
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.lines.stroking import COARSEST_SHARE
from preprocess.model.options.limits import DrawingLimits
from preprocess.read.shapes.regions import FARTHEST_MM
from preprocess.read.shapes.tight_bends import bend_tight_points

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Bytes, Floats, Indices
    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import Outline


MOST_VERTICES = DrawingLimits().vertices
_PORTION = 50_000
"""Segments that are flattened at once."""


@dataclass(frozen=True, slots=True)
class Contour:
    """One subpath as a polyline of N x 2 points in mm; a closed one does not repeat its start."""

    points: Floats
    closed: bool

    @property
    def line(self) -> Floats:
        """The points in order, back to the start where it is closed."""
        return np.vstack((self.points, self.points[:1])) if self.closed else self.points


class FlattenJob(NamedTuple):
    """A path to flatten, the map to mm, and the stroke's width in mm (0 where there is none)."""

    path: Outline
    matrix: Matrix
    stroke: float = 0.0


def flatten_paths(
    jobs: Sequence[FlattenJob], tolerance: float, most: int = MOST_VERTICES
) -> list[list[Contour]]:
    """The contours of each path, flattened to within `tolerance` mm and rounded to 1e-6 mm.

    Stroked curves are cut so finely that the edges of the stroke keep the tolerance too.

    Raises:
        UserError: they would have more than `most` points together.
    """
    if sum(len(job.path.kinds) for job in jobs) > most:
        raise too_many_points_error(most)
    found: list[list[Contour]] = []
    left = most
    for portion in _portions(jobs):
        found += _flattened(portion, tolerance, left)
        left -= sum(len(one.points) for contours in found[-len(portion) :] for one in contours)
    return found


def too_many_points_error(most: int) -> UserError:
    """The error for a drawing whose outlines have more points than allowed."""
    return wrong(
        f"the outlines of the drawing have more than {most} points, copies counted in",
        "simplify its paths, split it, or raise limits: vertices in the recipe",
    )


def _portions(jobs: Sequence[FlattenJob]) -> Iterator[Sequence[FlattenJob]]:
    """Jobs in turn, as many at a time as fit into a little memory."""
    begin, size = 0, 0
    for end, job in enumerate(jobs):
        size += len(job.path.kinds)
        if size > _PORTION and end > begin:
            yield jobs[begin:end]
            begin, size = end, len(job.path.kinds)
    if begin < len(jobs):
        yield jobs[begin:]


def _flattened(jobs: Sequence[FlattenJob], tolerance: float, most: int) -> list[list[Contour]]:
    kinds = np.frombuffer(b"".join([job.path.kinds for job in jobs]), dtype="S1")
    if not len(kinds):
        return [[] for _ in jobs]
    per_job = np.array([len(job.path.kinds) for job in jobs])
    owner = np.repeat(np.arange(len(jobs)), per_job)
    takes = np.select([kinds == b"C", kinds == b"Z"], [3, 0], 1)
    points = _mapped(jobs, owner, takes)
    first = np.cumsum(takes) - takes
    counts, curved = _curves(jobs, kinds, owner, points, first, (tolerance, most))
    output = np.empty((counts.sum(), 2))
    is_curve = np.repeat(kinds == b"C", counts)
    output[is_curve] = curved
    output[~is_curve] = points[first[(kinds == b"M") | (kinds == b"L")]]
    return _contours(kinds, owner, counts, round_coordinates(output), len(jobs))


def _mapped(jobs: Sequence[FlattenJob], owner: Indices, takes: Indices) -> Floats:
    """All points of all paths in mm."""
    x, y = np.concatenate([job.path.numbers for job in jobs if job.path.numbers]).reshape(-1, 2).T
    matrices, job_of = np.array([job.matrix for job in jobs]).T, np.repeat(owner, takes)
    a, b, c, d, e, f = (column[job_of] for column in matrices)
    mapped = np.empty((len(x), 2))
    with np.errstate(invalid="ignore", over="ignore"):  # what is beyond all numbers is held back
        mapped[:, 0] = a * x + c * y + e
        mapped[:, 1] = b * x + d * y + f
    np.nan_to_num(mapped, copy=False)
    return np.clip(mapped, -FARTHEST_MM, FARTHEST_MM, out=mapped)


def _curves(
    jobs: Sequence[FlattenJob],
    kinds: Bytes,
    owner: Indices,
    points: Floats,
    first: Indices,
    bounds: tuple[float, int],
) -> tuple[Indices, Floats]:
    """Number of points per segment, and the points of all curves without their starts.

    `bounds` are the tolerance and the most points that all of them may have.
    """
    counts = np.where(kinds == b"Z", 0, 1)
    at = np.flatnonzero(kinds == b"C")
    if not len(at):
        return counts, np.empty((0, 2))
    controls = points[first[at][:, None] + np.arange(-1, 3)]
    widths = np.array([job.stroke for job in jobs])[owner[at]]
    tolerance, most = bounds
    allowed = _tolerances(controls, widths, tolerance)
    if count_pieces(controls, allowed) > most:
        raise too_many_points_error(most)
    steps = np.where(widths > 0, _edge_step(widths, tolerance), np.inf)
    curved, each = bend_tight_points(*flatten_cubics(controls, allowed), steps, tolerance)
    counts[at] = each - 1
    later = np.ones(len(curved), dtype=np.bool_)
    later[np.cumsum(each) - each] = False
    return counts, curved[later]


def _tolerances(controls: Floats, widths: Floats, tolerance: float) -> Floats:
    """Less where a wide stroke turns about a tight curve: its outer edge swings farther out.

    That edge of a stroke wider than 100 mm, at 5 µm, may be off by a share of its width instead.
    """
    legs = np.diff(controls, axis=1)
    angle = np.arctan2(legs[..., 1], legs[..., 0])
    turn = np.abs((np.diff(angle, axis=1) + np.pi) % (2 * np.pi) - np.pi).sum(axis=1)
    pieces = np.maximum(turn / _edge_step(widths, tolerance), 1e-9)
    second = np.hypot(*np.moveaxis(np.diff(controls, n=2, axis=1), -1, 0)).max(axis=1)
    finer = 0.75 * second / pieces**2
    allowed = np.where((widths > 0) & (second > 0), np.minimum(tolerance, finer), tolerance)
    # What was held back at the border of the possible is no curve any more.
    held = (np.abs(controls) >= FARTHEST_MM).any(axis=(1, 2))
    return np.where(held, 4 * FARTHEST_MM, allowed)


def _edge_step(widths: Floats, tolerance: float) -> Floats:
    """Turn, in radians, between chords of a stroke's round edge that stay within the tolerance."""
    half = np.maximum(widths / 2, 1e-12)
    return 2 * np.arccos(np.clip(1 - np.maximum(tolerance / half, COARSEST_SHARE), -1, 1))


def _contours(
    kinds: Bytes,
    owner: Indices,
    counts: Indices,
    points: Floats,
    total: int,
) -> list[list[Contour]]:
    found: list[list[Contour]] = [[] for _ in range(total)]
    begins = np.flatnonzero(kinds == b"M")
    ends = np.append(begins[1:], len(kinds))
    drawn = ends - begins > 1  # a moveto alone draws nothing
    begins, ends = begins[drawn], ends[drawn]
    stop = np.cumsum(counts)
    first, last = stop[begins] - counts[begins], stop[ends - 1]
    closed = kinds[ends - 1] == b"Z"
    again = closed & (last - first > 1) & (points[first] == points[last - 1]).all(axis=1)
    parts = zip(owner[begins], first, last - again, closed.tolist(), strict=True)
    for at, begin, end, shut in parts:
        found[at].append(Contour(points[begin:end], shut))
    return found
