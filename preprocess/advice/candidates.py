"""Candidate ways for this design on this filament and machine."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.advice.ways import Sweep, Way, edit_of
from preprocess.errors import wrong
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes.solve_power.solver import settable_power

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.model.artwork.settings import Settings

_PACES = 0.5, 0.7, 1.0, 1.4, 2.0
"""Speeds to try, as multiples of the reference's: beyond twice there are no grades."""

BAR_EVENNESS = 0.1
"""Evenness asked of bars with the least span; they fit where the part is narrow too."""

_WIDER = 1.25
"""Factor of a wider pitch."""

_INTERLEAVED = 3
"""Rows of our own: every third first, so that neighbours are far apart in time."""

_TURN = 90.0
"""Degrees by which rows are turned."""


def engrave_settings(given: Simulation) -> Settings:
    """The settings of the first engraved layer, with what is usual filled in.

    Its power is the layer's own, not that of a level.

    Raises:
        UserError: nothing is engraved, or speed or pitch is missing: nothing can be predicted.
    """
    engraved = [o for o in output_layers(given.artwork) if o.operation is Operation.ENGRAVE]
    if not engraved:
        raise wrong("nothing is engraved here, so there is no heat to even out", "engrave an area")
    for output in engraved:
        missing = [key for key in ("speed", "pitch") if getattr(output.settings, key) is None]
        if missing:
            raise wrong(
                f"without {' and '.join(missing)} of {output.id!r} nothing can be compared",
                "add it: settings: {engrave: {speed: 900 mm/s, pitch: 0.1 mm}}",
            )
    first = engraved[0]
    power = given.artwork.layer(first.layer).of(Operation.ENGRAVE).power
    return replace(first.settings.over(USUAL_SETTINGS), power=power)


def own_powers_alike(given: Simulation) -> bool:
    """Test whether all engraved layers have one power, levels left aside."""
    engraved = [o for o in output_layers(given.artwork) if o.operation is Operation.ENGRAVE]
    layers = (given.artwork.layer(output.layer) for output in engraved)
    return len({layer.of(Operation.ENGRAVE).power for layer in layers}) == 1


def recipe_sweep(job: AdviceRequest) -> Sweep:
    """Way the recipe sweeps areas, by name where it is one of the plain ways."""
    steps = {sweep: edit_of(Way(sweep=sweep), job.loaded.recipe.passes).passes for sweep in Sweep}
    same = [s for s in Sweep if s is not Sweep.AS_IT_IS and steps[s] == steps[Sweep.AS_IT_IS]]
    return same[0] if same else Sweep.AS_IT_IS


def shared_power(job: AdviceRequest, *, calibrated: bool) -> float | None:
    """The power at which all areas are simulated; None keeps the recipe's where none is graded."""
    filament, machine = job.loaded.filament, job.loaded.bench.machine_or_default
    if not calibrated or filament is None or filament.reference is None:
        return None
    return settable_power(filament.reference.power, machine.power)


def candidate_speeds(job: AdviceRequest, own: float, *, calibrated: bool) -> list[float]:
    """A handful of speeds within the machine's range, the recipe's own among them."""
    filament, steps = job.loaded.filament, job.loaded.bench.machine_or_default.speed
    known = calibrated and filament is not None and filament.reference is not None
    middle = filament.reference.speed if known and filament and filament.reference else own
    wished = [own, *(middle * pace for pace in _PACES)]
    inside = (min(max(speed, steps.from_), steps.to) for speed in wished)
    return sorted({own, *(_set_to(speed, steps.from_, steps.step) for speed in inside)})


def _set_to(speed: float, least: float, step: float) -> float:
    return round(least + round((speed - least) / step) * step, 6)


def candidate_ways(job: AdviceRequest, own: Settings, base: Way, *, bars: bool) -> Iterator[Way]:
    """Ways without levels: sweep, order, direction, angle, pitch, bars.

    Args:
        job: design and recipe.
        own: the recipe's settings of engraving.
        base: its sweep, and the speed and power that all share.
        bars: whether there may be bars.
    """
    machine = job.loaded.bench.machine_or_default
    plain = machine.raster_groups is RasterGroups.EACH_COLOUR
    together = base if plain else replace(base, sweep=Sweep.TOGETHER)
    one_way = replace(together, direction=Direction.ONE_WAY)
    two_way = replace(together, direction=Direction.TWO_WAY)
    yield from (one_way, two_way)
    if not plain:
        apart = replace(base, sweep=Sweep.APART)
        yield from (replace(apart, direction=direction) for direction in Direction)
        yield replace(apart, direction=Direction.ONE_WAY, cool=True)
        if base.sweep is Sweep.AS_IT_IS:
            yield replace(base, direction=own.direction)
    turned = ((own.angle or 0.0) + _TURN) % 180.0
    yield from (replace(way, angle=turned) for way in (one_way, two_way))
    yield replace(one_way, pitch=round((own.pitch or 0.0) * _WIDER, 6))
    if bars:
        yield from (replace(way, bars=True) for way in (one_way, two_way))
        yield replace(one_way, bars=True, angle=turned)
        yield replace(one_way, bars=True, even=BAR_EVENNESS)
    yield from _interleaved(one_way, own)


def _interleaved(way: Way, own: Settings) -> Iterator[Way]:
    """Rows of our own, which are scored and so need power and speed said."""
    power, speed = way.power or own.power, way.speed or own.speed
    if power and speed:
        yield replace(way, every=_INTERLEAVED, power=power, speed=speed)
