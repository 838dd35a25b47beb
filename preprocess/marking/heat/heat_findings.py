"""Findings on places that will be too heavy or too weak: cause and cheapest remedy."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import Point

from preprocess.findings import Finding, note, warn
from preprocess.marking.heat.index_regions import IndexRegion, index_regions
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from preprocess.model.artwork.settings import Direction

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.marking.heat.contributors import ContributorSearch
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule

_SHOWN = 3
"""Places that are named one by one in each raster group and direction; the rest is counted."""

_LEAST = 0.2
"""mm²; smaller places are not reported."""

_NARROW = 0.6
"""Share of the widest row below which a row counts as short."""

_ROW_END = 1.0
"""mm from the end of a row within which two-way rows come in pairs."""

_START = 1.0
"""mm from the first row over which the plastic is still cold."""


def heat_findings(
    heat: HeatIndex, plan: Plan, schedule: Schedule, neighbours: ContributorSearch | None = None
) -> tuple[Finding, ...]:
    """Name the places outside the filament's window.

    Without grades the limits are unknown: places are then compared with the median of the job, and
    the findings are notes. `neighbours` tells what else
    warmed a place that is too heavy.
    """
    found: list[Finding] = []
    base = 1.0 if heat.calibrated else heat.median
    timed_steps = {visit.step: visit.timed for visit in schedule.visits}
    for image in heat.images:
        group = plan.steps[image.step]
        if isinstance(group, RasterGroup):
            for high in (True, False):
                limit = (heat.window.heavy if high else heat.window.weak) * base
                outside = image.index > limit if high else image.index < limit
                places = index_regions(image, timed_steps[image.step], outside, _LEAST, high=high)
                told = list(_told(places, image, group, heat, high=high))
                if high and neighbours is not None:
                    told = [_with_giver(f, image, group, plan, neighbours) for f in told]
                found.extend(told)
    found.extend(_repeats(heat, plan))
    found.extend(_coarser(heat))
    return tuple(found)


def _coarser(heat: HeatIndex) -> Iterator[Finding]:
    if heat.wide_columns is not None:
        width = heat.wide_columns
        message = f"the job is large, so the heat index is computed in columns of {width:.2f} mm"
        remedy = "predict part of the drawing by itself for finer detail"
        yield note("coarser-heat", message, remedy)


def _with_giver(
    finding: Finding,
    image: IndexImage,
    group: RasterGroup,
    plan: Plan,
    neighbours: ContributorSearch,
) -> Finding:
    """Name the neighbour whose residual heat adds to a place."""
    giver = None if finding.spot is None else neighbours.at(image, finding.spot)
    other = None if giver is None else plan.steps[giver.step]
    if giver is None or not isinstance(other, RasterGroup):
        return finding
    name = other.output.id if other.output.id != group.output.id else other.shapes[0].id
    message = f"{finding.message}; {100 * giver.share:.0f} % of its heat comes from {name}"
    remedy = f"{finding.remedy}; or mark something else between {name} and this"
    return replace(finding, message=message, remedy=remedy)


def _told(
    places: list[IndexRegion], image: IndexImage, group: RasterGroup, heat: HeatIndex, *, high: bool
) -> Iterator[Finding]:
    for place in places[:_SHOWN]:
        yield _finding(place, image, group, heat, high=high)
    rest = places[_SHOWN:]
    if rest:
        area = sum(place.area for place in rest)
        what = "heavy" if high else "weak"
        message = f"{image.output}: {len(rest)} smaller places of {area:.2f} mm² are too {what} too"
        yield _severity(heat, f"more-too-{what}", message, "see the heat map")


def _finding(
    place: IndexRegion, image: IndexImage, group: RasterGroup, heat: HeatIndex, *, high: bool
) -> Finding:
    cause, remedy = _too_heavy(place, group, heat) if high else _too_weak(place, heat)
    what = "heavy" if high else "weak"
    compared = "" if heat.calibrated else f" ({place.index / heat.median:.2f} times the median)"
    message = (
        f"{image.output} will be too {what} over {place.area:.2f} mm²: "
        f"index {place.index:.2f}{compared}; {cause}"
    )
    found = _severity(heat, f"too-{what}", message, remedy)
    element = _element(group, place.spot)
    return replace(found, spot=place.spot, elements=element, layer=group.output.layer)


def _severity(heat: HeatIndex, code: str, message: str, remedy: str) -> Finding:
    if heat.calibrated:
        return warn(code, message, remedy)
    return note(code, f"{message} ({UNCALIBRATED})", remedy)


def _rows(place: IndexRegion) -> str:
    after = "" if place.returns is None else f", and the beam returns after {_ms(place.returns)}"
    return f"rows there are {place.row_span:.2f} mm long{after}"


def _ms(seconds: float) -> str:
    return f"{1e3 * seconds:.3g} ms"


def _too_heavy(place: IndexRegion, group: RasterGroup, heat: HeatIndex) -> tuple[str, str]:
    wide = place.row_span >= _NARROW * place.widest
    two_way = group.settings.direction is Direction.TWO_WAY
    if wide and two_way and place.from_end < _ROW_END:
        return (
            f"{_rows(place)}, but two-way rows return at once at their ends",
            "mark this layer one-way",
        )
    if not wide:
        remedy = (
            "lengthen the rows with equalize-width, or give the narrow zone less power with "
            "tag-power, or merge it with what lies beside it"
        )
        return f"{_rows(place)}, against {place.widest:.2f} mm in the widest row", remedy
    if group.repeats > 1:
        return (f"{_rows(place)}, and earlier repeats have left it warm", "mark it fewer times")
    return (
        f"{_rows(place)}: power and speed of the layer put in too much heat",
        _other_power(place, group, heat),
    )


def _too_weak(place: IndexRegion, heat: HeatIndex) -> tuple[str, str]:
    if place.from_first < _START:
        return (
            f"{_rows(place)}, and the first rows find the plastic cold",
            "begin with a bar or with a part of the mark that may be weaker",
        )
    if place.row_span < _NARROW * place.widest:
        return (
            f"{_rows(place)}, and a piece this thin loses its heat",
            "thicken it in the drawing",
        )
    remedy = f"raise the power by about {100 * (_aim(heat) / place.index - 1):.0f} % and test it"
    return f"{_rows(place)}: power and speed of the layer put in too little heat", remedy


def _other_power(place: IndexRegion, group: RasterGroup, heat: HeatIndex) -> str:
    share = _aim(heat) / place.index
    if group.settings.power is None:
        return f"set about {100 * share:.0f} % of the power and test it"
    return f"set about {100 * share * group.settings.power:.0f} % instead and test it"


def _aim(heat: HeatIndex) -> float:
    return 1.0 if heat.calibrated else heat.median


def _element(group: RasterGroup, spot: tuple[float, float]) -> tuple[str, ...]:
    """The drawing's element at a spot: of the nearest shape the nearest source."""
    point = Point(spot)
    shape = min(group.shapes, key=lambda shape: shapely.distance(shape.geometry, point))
    known = [source for source in shape.sources if source.geometry is not None]
    if not known:
        return (shape.id,)
    return (min(known, key=lambda source: shapely.distance(source.geometry, point)).id,)


def _repeats(heat: HeatIndex, plan: Plan) -> Iterator[Finding]:
    repeated = dict.fromkeys(step.output.id for step in plan.steps if step.repeats > 1)
    if heat.too_heavy or heat.too_weak:
        for output in repeated:
            message = f"{output} repeats an uneven mark"
            yield note("repeat-over-uneven", message, "even out its heat first: repeats seldom do")
