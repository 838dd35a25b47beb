"""Layout of the bars that make all rows of each raster group equally wide.

Lays bars out in the row frame of each group of a plan, and changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.errors import Refusal
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.base.sweep import sweep_area
from preprocess.geometry.rows.bars import bar_pairs, consecutive_runs
from preprocess.marking.job.common_grid import on_common_grid
from preprocess.marking.job.return_times import return_times
from preprocess.marking.job.rows import row_spans
from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Geometries, Integers
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.job.rows import RowSpans
    from preprocess.model.bench.machine import Machine

    ClearTest = Callable[[Geometries], Booleans]

_HAIRS = (1e-5, 3e-4)
"""mm below a row: rounding to the written grid can move art from there onto the row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarMeasures:
    """Measures of bars, mm: width, gap between lanes, distance to the art.

    Rows of width `below` (mm) or more, or with a return time of `quicker` (s) or more, get no
    bars; None sets no limit. `clear` tests boxes on the page for room. With it, rows without room
    stay as they are; without it they are refused.
    """

    bar: float
    gap: float
    to_art: float
    machine: Machine
    below: float | None = None
    quicker: float | None = None
    clear: ClearTest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupBars:
    """Bars of one raster group on the page, beside `rows` of its rows.

    `span` is their span in mm, `lane` counts outward from 0.
    """

    group: RasterGroup
    bars: MultiPolygon
    span: float
    lane: int
    centre: float
    rows: int


def lay_out_bars(
    groups: Sequence[RasterGroup],
    innermost: dict[float, tuple[float, float]],
    measures: BarMeasures,
    rule: FirstRow,
) -> tuple[GroupBars, ...]:
    """Bars of every group, those of groups that share rows side by side.

    Args:
        groups: raster groups in marking order.
        innermost: centre and span (mm) of the innermost lane, by scan angle.
        measures: bar, gap and distances.
        rule: start of the rows of a group.

    Raises:
        Refusal: art lies in the place of a bar.
    """
    laid: list[GroupBars] = []
    for group in on_common_grid(groups, rule):
        centre, span = innermost[group.angle]
        for lane in range(len(groups) + 1):
            wide = span + 2 * lane * (measures.bar + measures.gap)
            bars, rows = _bars(group, centre, wide, measures, rule)
            if not any(_in_the_way(bars, group.angle, other, measures.gap) for other in laid):
                break
        laid.append(
            GroupBars(group=group, bars=bars, span=wide, lane=lane, centre=centre, rows=rows)
        )
    return tuple(laid)


def _bars(
    group: RasterGroup, centre: float, span: float, measures: BarMeasures, rule: FirstRow
) -> tuple[MultiPolygon, int]:
    rows = rows_to_bar(group, centre, span, measures)
    first, last = consecutive_runs(rows).T if len(rows) else (rows, rows)
    quarter = group.pitch / 4
    tops = np.asarray(group.first + group.pitch * first - quarter, dtype=float)
    if rule is FirstRow.EDGE:
        tops = np.maximum(tops, group.first)
    bottoms = np.asarray(group.first + group.pitch * last + quarter, dtype=float)
    turned = bar_pairs(tops, bottoms, centre=centre, span=span, bar=measures.bar)
    return RowFrame(group.angle).to_page(turned), len(rows)


def rows_to_bar(group: RasterGroup, centre: float, span: float, measures: BarMeasures) -> Integers:
    """Numbers of the rows that need bars to be `span` wide, ascending.

    Raises:
        Refusal: art lies in the place of a bar, or return times are unknown.
    """
    spans = row_spans(group)
    free, wide = _free_and_wide(spans, centre, span, measures)
    if measures.quicker is not None:
        wide |= return_times(group, measures.machine).value >= measures.quicker
    if measures.clear is not None:
        wide |= ~free
    elif not (free | wide).all():
        raise _art_in_the_way(group, spans, wide, (centre, span), measures)
    wanted = np.union1d(spans.row[~wide], _perhaps(group))
    wanted = np.setdiff1d(wanted, spans.row[wide])
    if len(wanted) and group.first < _top(group) - 1e-9 * group.pitch:
        wanted = np.union1d(wanted, [0])
    return _standing(wanted, group, (centre, span), measures)


def _free_and_wide(
    spans: RowSpans, centre: float, span: float, measures: BarMeasures
) -> tuple[Booleans, Booleans]:
    """Masks of the rows with room for bars, and of those too wide to need any."""
    inner = span / 2 - measures.bar - measures.to_art
    free = (spans.start >= centre - inner - 1e-9) & (spans.end <= centre + inner + 1e-9)
    wide = (spans.start <= centre - span / 2) & (spans.end >= centre + span / 2)
    if measures.below is not None:
        wide |= spans.span >= measures.below
    return free, wide


def _standing(
    rows: Integers, group: RasterGroup, where: tuple[float, float], measures: BarMeasures
) -> Integers:
    """The rows with room for bars on both sides."""
    if measures.clear is None or not len(rows):
        return rows
    half = group.pitch / 2
    v = group.first + group.pitch * rows.astype(np.float64)
    both = bar_pairs(v - half, v + half, centre=where[0], span=where[1], bar=measures.bar)
    boxes = shapely.get_parts(RowFrame(group.angle).to_page(both))
    return rows[measures.clear(boxes).reshape(2, -1).all(axis=0)]


def _top(group: RasterGroup) -> float:
    return float(RowFrame(group.angle).to_rows(group.area).bounds[1])


def _perhaps(group: RasterGroup) -> Integers:
    """Rows that art misses by less than the written grid: a bar there does no harm."""
    turned = RowFrame(group.angle).to_rows(group.area)
    return np.unique(np.concatenate([sweep_area(turned, group.rows + h).row for h in _HAIRS]))


def _art_in_the_way(
    group: RasterGroup,
    spans: RowSpans,
    quick: Booleans,
    where: tuple[float, float],
    measures: BarMeasures,
) -> Refusal:
    centre, span = where
    blocked = ~_free_and_wide(spans, centre, span, measures)[0] & ~quick
    reach = 2 * np.maximum(centre - spans.start, spans.end - centre)
    least = _least_span(spans, quick, (centre, span), measures)
    narrowest = float(spans.span[blocked].min())
    return Refusal(
        f"art of {group.output.id} lies in the place of its bars: {blocked.sum()} rows reach up to "
        f"{reach[blocked].max() / 2:.2f} mm from the middle of the part",
        f"give a span of at least {math.ceil(100 * least - 1e-6) / 100:.2f} mm or a larger "
        f"clearance, or narrower_than: {math.floor(100 * narrowest) / 100:.2f} mm to leave wider "
        "rows as they are, or move the art onto the part",
    )


def _least_span(
    spans: RowSpans, quick: Booleans, where: tuple[float, float], measures: BarMeasures
) -> float:
    """The smallest span (mm), not below the one wanted, with no art in the place of bars.

    A wider span adds bars beside rows that were wide enough before; their art may be in the way.
    """
    centre, span = where
    quick = quick & ~_free_and_wide(spans, centre, span, replace(measures, below=None))[1]
    needed = 2 * np.maximum(centre - spans.start, spans.end - centre)
    needed += 2 * (measures.bar + measures.to_art)
    while True:
        free, wide = _free_and_wide(spans, centre, span, measures)
        blocked = ~free & ~wide & ~quick
        if not blocked.any():
            return span
        span = float(needed[blocked].max())


def _in_the_way(bars: MultiPolygon, angle: float, other: GroupBars, gap: float) -> bool:
    """Whether bars collide. On parallel rows lanes keep the gap, so sharing no row is enough."""
    if bars.is_empty or other.bars.is_empty:
        return False
    if angle % 180.0 == other.group.angle % 180.0:
        return bool(bars.intersects(other.bars))
    return bool(shapely.dwithin(bars, other.bars, gap))


def all_bars(barred: Iterable[GroupBars]) -> Geometries:
    """Every bar as a polygon."""
    return shapely.get_parts(np.array([entry.bars for entry in barred], dtype=object))
