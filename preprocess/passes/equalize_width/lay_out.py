"""Layout of the bars that make all rows of each raster group equally wide.

Lays bars out in the row frame of each group of a plan, and changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

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

    from preprocess.arrays import Booleans, Floats, Geometries, Integers
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.job.rows import RowSpans
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.equalize_width.bar_wish import BarWish

    ClearTest = Callable[[Geometries], Booleans]

_HAIRS = (1e-5, 3e-4)
"""mm below a row: rounding to the written grid can move art from there onto the row."""


class BarRules(NamedTuple):
    """Measures of bars and the rows that get any, the machine, and a test for room.

    `clear` tests boxes on the page for room. With it, rows without room stay as they are; without
    it they are refused.
    """

    wish: BarWish
    machine: Machine
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


class _Lane(NamedTuple):
    """A raster group, and middle and span (mm) along its rows of a pair of bars."""

    group: RasterGroup
    centre: float
    span: float


def lay_out_bars(
    groups: Sequence[RasterGroup], innermost: dict[float, tuple[float, float]], rules: BarRules
) -> tuple[GroupBars, ...]:
    """Bars of every group, those of groups that share rows side by side.

    Args:
        groups: raster groups in marking order.
        innermost: centre and span (mm) of the innermost lane, by scan angle.
        rules: bar, gap and distances, and the machine, which gives the start of the rows.

    Raises:
        Refusal: art lies in the place of a bar.
    """
    laid: list[GroupBars] = []
    wish = rules.wish
    for group in on_common_grid(groups, rules.machine.first_row):
        centre, span = innermost[group.angle]
        for lane in range(len(groups) + 1):
            wide = span + 2 * lane * (wish.bar + wish.gap)
            bars, rows = _bars(_Lane(group, centre, wide), rules)
            if not any(_in_the_way(bars, group.angle, other, wish.gap) for other in laid):
                break
        laid.append(
            GroupBars(group=group, bars=bars, span=wide, lane=lane, centre=centre, rows=rows)
        )
    return tuple(laid)


def _bars(lane: _Lane, rules: BarRules) -> tuple[MultiPolygon, int]:
    group, rows = lane.group, rows_to_bar(lane, rules)
    first, last = consecutive_runs(rows).T if len(rows) else (rows, rows)
    quarter = group.pitch / 4
    tops = np.asarray(group.first + group.pitch * first - quarter, dtype=float)
    if rules.machine.first_row is FirstRow.EDGE:
        tops = np.maximum(tops, group.first)
    bottoms = np.asarray(group.first + group.pitch * last + quarter, dtype=float)
    return _pairs(lane, tops, bottoms, rules), len(rows)


def _pairs(lane: _Lane, tops: Floats, bottoms: Floats, rules: BarRules) -> MultiPolygon:
    """Pairs of bars on the page, from tops to bottoms across the rows (mm)."""
    turned = bar_pairs(tops, bottoms, centre=lane.centre, span=lane.span, bar=rules.wish.bar)
    return RowFrame(lane.group.angle).to_page(turned)


def rows_to_bar(lane: _Lane, rules: BarRules) -> Integers:
    """Numbers of the rows that need bars to be as wide as their lane, ascending.

    Raises:
        Refusal: art lies in the place of a bar, or return times are unknown.
    """
    group, quicker = lane.group, rules.wish.quicker_than
    spans = row_spans(group)
    free, wide = _free_and_wide(spans, lane, rules.wish)
    if quicker is not None:
        wide |= return_times(group, rules.machine).value >= quicker
    if rules.clear is not None:
        wide |= ~free
    elif not (free | wide).all():
        raise _art_in_the_way(spans, wide, lane, rules.wish)
    wanted = np.union1d(spans.row[~wide], _perhaps(group))
    wanted = np.setdiff1d(wanted, spans.row[wide])
    if len(wanted) and group.first < _top(group) - 1e-9 * group.pitch:
        wanted = np.union1d(wanted, [0])
    return _standing(wanted, lane, rules)


def _free_and_wide(spans: RowSpans, lane: _Lane, wish: BarWish) -> tuple[Booleans, Booleans]:
    """Masks of the rows with room for bars, and of those too wide to need any."""
    _, centre, span = lane
    inner = span / 2 - wish.bar - wish.to_art
    free = (spans.start >= centre - inner - 1e-9) & (spans.end <= centre + inner + 1e-9)
    wide = (spans.start <= centre - span / 2) & (spans.end >= centre + span / 2)
    if wish.narrower_than is not None:
        wide |= spans.span >= wish.narrower_than
    return free, wide


def _standing(rows: Integers, lane: _Lane, rules: BarRules) -> Integers:
    """The rows with room for bars on both sides."""
    if rules.clear is None or not len(rows):
        return rows
    half = lane.group.pitch / 2
    v = lane.group.first + lane.group.pitch * rows.astype(np.float64)
    boxes = shapely.get_parts(_pairs(lane, v - half, v + half, rules))
    return rows[rules.clear(boxes).reshape(2, -1).all(axis=0)]


def _top(group: RasterGroup) -> float:
    return float(RowFrame(group.angle).to_rows(group.area).bounds[1])


def _perhaps(group: RasterGroup) -> Integers:
    """Rows that art misses by less than the written grid: a bar there does no harm."""
    turned = RowFrame(group.angle).to_rows(group.area)
    return np.unique(np.concatenate([sweep_area(turned, group.rows + h).row for h in _HAIRS]))


def _art_in_the_way(spans: RowSpans, quick: Booleans, lane: _Lane, wish: BarWish) -> Refusal:
    blocked = ~_free_and_wide(spans, lane, wish)[0] & ~quick
    reach = np.maximum(lane.centre - spans.start, spans.end - lane.centre)
    least = _least_span(spans, quick, lane, wish)
    narrowest = float(spans.span[blocked].min())
    return Refusal(
        f"art of {lane.group.output.id} lies in the place of its bars: {blocked.sum()} rows "
        f"reach up to {reach[blocked].max():.2f} mm from the middle of the part",
        f"give a span of at least {math.ceil(100 * least - 1e-6) / 100:.2f} mm or a larger "
        f"clearance, or narrower_than: {math.floor(100 * narrowest) / 100:.2f} mm to leave wider "
        "rows as they are, or move the art onto the part",
    )


def _least_span(spans: RowSpans, quick: Booleans, lane: _Lane, wish: BarWish) -> float:
    """The smallest span (mm), not below the one wanted, with no art in the place of bars.

    A wider span adds bars beside rows that were wide enough before; their art may be in the way.
    """
    quick = quick & ~_free_and_wide(spans, lane, replace(wish, narrower_than=None))[1]
    needed = 2 * np.maximum(lane.centre - spans.start, spans.end - lane.centre)
    needed += 2 * (wish.bar + wish.to_art)
    while True:
        free, wide = _free_and_wide(spans, lane, wish)
        blocked = ~free & ~wide & ~quick
        if not blocked.any():
            return lane.span
        lane = lane._replace(span=float(needed[blocked].max()))


def _in_the_way(bars: MultiPolygon, angle: float, other: GroupBars, gap: float) -> bool:
    """Test whether bars collide. On parallel rows lanes keep the gap: sharing no row is enough."""
    if bars.is_empty or other.bars.is_empty:
        return False
    if angle % 180.0 == other.group.angle % 180.0:
        return bool(bars.intersects(other.bars))
    return bool(shapely.dwithin(bars, other.bars, gap))


def all_bars(barred: Iterable[GroupBars]) -> Geometries:
    """Every bar as a polygon."""
    return shapely.get_parts(np.array([entry.bars for entry in barred], dtype=object))
