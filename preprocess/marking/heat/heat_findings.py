"""Findings on places that will be too heavy or too weak: cause, and remedy for the layer."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import shapely
from shapely import Point

from preprocess.findings import Finding, note, warn
from preprocess.marking.heat.index_regions import IndexRegion, index_regions
from preprocess.marking.heat.place_remedies import (
    RowSettings,
    heavy_cause,
    layer_remedy,
    weak_cause,
)
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from preprocess.model.artwork.settings import Direction
from preprocess.units import SHARE, digits

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from preprocess.marking.heat.contributors import ContributorSearch
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.marking.heat.place_remedies import LayerRemedy, RemedyTrials
    from preprocess.marking.job.plan import LineWork, Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.marking.job.timed_step import TimedStep

    Step = RasterGroup | LineWork
    Remedy = Callable[[str], LayerRemedy]
    Layer = tuple[RowSettings, LayerPower, Remedy]

_SHOWN = 3
"""Places that are named one by one in each raster group and direction; the rest is counted."""

_LEAST = 0.2
"""mm²; smaller places are not reported."""

_FINEST = 0.3
"""mm; columns are made no wider than this when the heat is computed in full."""

_MUCH = 0.2
"""Share of a layer outside the window from which it is spoken of though no power is better: first
rows and rims of a small patch make up a tenth."""


def heat_findings(
    heat: HeatIndex,
    plan: Plan,
    schedule: Schedule,
    powers: Mapping[str, LayerPower],
    neighbours: ContributorSearch | None = None,
    trials: RemedyTrials | None = None,
) -> tuple[Finding, ...]:
    """Name the places outside the filament's window.

    Without grades the limits are unknown: places are then compared with the median of the job, and
    the findings are notes. `powers` holds what one power for the whole of each output layer can do,
    and `trials` simulate what else can be done: all places of a layer get the same remedy.
    `neighbours` tells what else warmed a place that is too heavy.
    """

    @cache
    def remedy(output: str) -> LayerRemedy:
        return layer_remedy(output, powers[output], heat.window, trials)

    found = list(_whole_layers(heat, plan, powers, remedy))
    base = 1.0 if heat.calibrated else heat.median
    timed_steps = {visit.step: visit.timed for visit in schedule.visits}
    for image in heat.images:
        if image.output not in powers:
            continue
        step, timed = plan.steps[image.step], timed_steps[image.step]
        rows = timed.of_round(image.round)
        layer = (_settings(step, timed), powers[image.output], remedy)
        for high in (True, False):
            limit = (heat.window.heavy if high else heat.window.weak) * base
            outside = image.index > limit if high else image.index < limit
            places = index_regions(image, rows, outside, _LEAST, high=high)
            told = [_placed(f, step) for f in _told(places, image, layer, heat, high=high)]
            if high and neighbours is not None:
                told = [_with_giver(f, image, plan, neighbours) for f in told]
            found.extend(told)
    found.extend(_repeats(heat, plan))
    found.extend(_coarser(heat))
    return tuple(found)


def _settings(step: Step, timed: TimedStep) -> RowSettings:
    if isinstance(step, RasterGroup):
        two_way = step.settings.direction is Direction.TWO_WAY
        return RowSettings(two_way=two_way, repeats=step.repeats)
    two_way = any(one.two_way for one in timed.rounds)
    return RowSettings(two_way=two_way, repeats=step.repeats)


def _whole_layers(
    heat: HeatIndex, plan: Plan, powers: Mapping[str, LayerPower], remedy: Remedy
) -> Iterator[Finding]:
    """Layers of which much lies outside, or less would at another power."""
    outputs = {step.output.id: step.output for step in plan.steps}
    for output, power in powers.items():
        if power.best != power.own or power.now > _MUCH:
            message = (
                f"{digits(100 * power.now, 3)} % of {output} is predicted outside the window at "
                f"{SHARE.text(power.own)} power"
            )
            found = _severity(heat, "layer-power", message, remedy(output).full)
            yield replace(found, layer=outputs[output].layer)


def _coarser(heat: HeatIndex) -> Iterator[Finding]:
    how = coarser_words(heat)
    if how:
        remedy = "evenmark predict computes it as finely as it can"
        if heat.every == 1 and heat.wide_columns is not None and heat.wide_columns <= _FINEST:
            remedy = "predict part of the drawing by itself for finer detail"
        yield note("coarser-heat", f"the job is large, so the heat index is computed {how}", remedy)


def coarser_words(heat: HeatIndex) -> str:
    """Sentence on the shortened computation of a job too large for all of it; else empty."""
    words = []
    if heat.wide_columns is not None:
        words.append(f"in columns of {heat.wide_columns:.2f} mm")
    if heat.every > 1:
        words.append(f"of one in {heat.every} groups")
    return " ".join(words)


def _with_giver(
    finding: Finding,
    image: IndexImage,
    plan: Plan,
    neighbours: ContributorSearch,
) -> Finding:
    """Name the neighbour whose residual heat adds to a place."""
    giver = None if finding.spot is None else neighbours.at(image, finding.spot)
    other = None if giver is None else plan.steps[giver.step]
    if giver is None or other is None:
        return finding
    name = other.output.id
    if name == image.output and isinstance(other, RasterGroup):
        name = other.shapes[0].id
    message = f"{finding.message}; {100 * giver.share:.0f} % of its heat comes from {name}"
    return replace(finding, message=message)


def _told(
    places: list[IndexRegion],
    image: IndexImage,
    layer: Layer,
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
    layer: Layer,
    heat: HeatIndex,
    *,
    high: bool,
) -> Finding:
    rows, power, remedy = layer
    cause = heavy_cause(place, rows, power) if high else weak_cause(place)
    what = "heavy" if high else "weak"
    compared = "" if heat.calibrated else f" ({place.index / heat.median:.2f} times the median)"
    message = (
        f"{image.output} will be too {what} over {place.area:.2f} mm²: "
        f"index {place.index:.2f}{compared}; {cause}"
    )
    found = _severity(heat, f"too-{what}", message, remedy(image.output).brief)
    return replace(found, spot=place.spot)


def _placed(finding: Finding, step: Step) -> Finding:
    """With the layer, and the drawing's element where a spot is known."""
    if finding.spot is None:
        return finding
    elements = _element(step, finding.spot)
    return replace(finding, elements=elements, layer=step.output.layer)


def _severity(heat: HeatIndex, code: str, message: str, remedy: str) -> Finding:
    if heat.calibrated:
        return warn(code, message, remedy)
    return note(code, f"{message} ({UNCALIBRATED})", remedy)


def _element(step: Step, spot: tuple[float, float]) -> tuple[str, ...]:
    """The drawing's element at a spot: of the nearest shape the nearest source."""
    point = Point(spot)
    shapes = step.shapes if isinstance(step, RasterGroup) else step.output.shapes
    shape = min(shapes, key=lambda shape: shapely.distance(shape.geometry, point))
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
