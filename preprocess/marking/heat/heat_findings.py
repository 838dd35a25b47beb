"""Findings on places that will be too heavy or too weak: cause and cheapest remedy."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import Point

from preprocess.findings import Finding, note, warn
from preprocess.marking.heat.index_regions import IndexRegion, index_regions
from preprocess.marking.heat.place_remedies import for_whole_layer, too_heavy, too_weak
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from preprocess.units import SHARE, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from preprocess.marking.heat.contributors import ContributorSearch
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule

_SHOWN = 3
"""Places that are named one by one in each raster group and direction; the rest is counted."""

_LEAST = 0.2
"""mm²; smaller places are not reported."""


_MUCH = 0.2
"""Share of a layer outside the window from which it is spoken of though no power is better: first
rows and rims of a small patch make up a tenth."""


def heat_findings(
    heat: HeatIndex,
    plan: Plan,
    schedule: Schedule,
    powers: Mapping[str, LayerPower],
    neighbours: ContributorSearch | None = None,
) -> tuple[Finding, ...]:
    """Name the places outside the filament's window.

    Without grades the limits are unknown: places are then compared with the median of the job, and
    the findings are notes. `powers` holds what one power for the whole of each output layer can do:
    no place is given a remedy against it. `neighbours` tells what else warmed a place that is too
    heavy.
    """
    found = list(_whole_layers(heat, plan, powers))
    base = 1.0 if heat.calibrated else heat.median
    timed_steps = {visit.step: visit.timed for visit in schedule.visits}
    for image in heat.images:
        group = plan.steps[image.step]
        if isinstance(group, RasterGroup):
            for high in (True, False):
                limit = (heat.window.heavy if high else heat.window.weak) * base
                outside = image.index > limit if high else image.index < limit
                places = index_regions(image, timed_steps[image.step], outside, _LEAST, high=high)
                told = list(_told(places, image, (group, powers[image.output]), heat, high=high))
                if high and neighbours is not None:
                    told = [_with_giver(f, image, group, plan, neighbours) for f in told]
                found.extend(told)
    found.extend(_repeats(heat, plan))
    found.extend(_coarser(heat))
    return tuple(found)


def _whole_layers(
    heat: HeatIndex, plan: Plan, powers: Mapping[str, LayerPower]
) -> Iterator[Finding]:
    """Layers of which much lies outside, or less would at another power."""
    layers = {step.output.id: step.output.layer for step in plan.steps}
    for output, power in powers.items():
        if power.best != power.own or power.now > _MUCH:
            message = (
                f"{digits(100 * power.now, 3)} % of {output} is predicted outside the window at "
                f"{SHARE.text(power.own)} power"
            )
            found = _severity(heat, "layer-power", message, for_whole_layer(power, heat.window))
            yield replace(found, layer=layers[output])


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
    places: list[IndexRegion],
    image: IndexImage,
    layer: tuple[RasterGroup, LayerPower],
    heat: HeatIndex,
    *,
    high: bool,
) -> Iterator[Finding]:
    for place in places[:_SHOWN]:
        yield _finding(place, image, layer, heat, high=high)
    rest = places[_SHOWN:]
    if rest:
        area = sum(place.area for place in rest)
        what = "heavy" if high else "weak"
        message = f"{image.output}: {len(rest)} smaller places of {area:.2f} mm² are too {what} too"
        yield _severity(heat, f"more-too-{what}", message, "see the heat map")


def _finding(
    place: IndexRegion,
    image: IndexImage,
    layer: tuple[RasterGroup, LayerPower],
    heat: HeatIndex,
    *,
    high: bool,
) -> Finding:
    group, power = layer
    cause, remedy = too_heavy(place, group.settings, power) if high else too_weak(place, power)
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
