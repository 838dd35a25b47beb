"""Candidate ways for this design on this filament and machine: interleaved before all others."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.advice.simulate import LeftOutWay
from preprocess.advice.ways import Way
from preprocess.errors import wrong
from preprocess.geometry.rows.rounds import usual_rounds
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes.interleave.interleave import Form
from preprocess.passes.solve_power.round_powers import START, start_factors

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.model.artwork.settings import Settings

MOST_COLOURS = 4
"""Rounds get no more colours than a person types in gladly."""

_LINES = "lines that are scored already would get the power of the rows"

_POWERS = "own rows have one power, and those of an ungraded filament stay as they are"

OWN_ROWS_UNGRADED = (
    "no own rows were graded, and they need another power than swept ones; grade such a coupon, "
    "or list them with --beyond-graded"
)

SPEED_UNGRADED = (
    "it needs more power than the machine has, and no cell was graded that slowly; grade such a "
    "coupon, or list it with --beyond-graded"
)


def engrave_settings(given: Simulation) -> Settings:
    """The settings of the first engraved layer, with what is usual filled in.

    Its power is the layer's own, not that of a level.

    Raises:
        UserError: nothing is engraved, or speed or pitch is missing: nothing can be predicted.
    """
    engraved = [o for o in output_layers(given.artwork) if _areas(given, o.layer)]
    if not engraved:
        raise wrong("nothing is engraved here, so there is no heat to even out", "engrave an area")
    for output in engraved:
        settings = given.artwork.layer(output.layer).of(Operation.ENGRAVE)
        missing = [key for key in ("speed", "pitch") if getattr(settings, key) is None]
        if missing:
            raise wrong(
                f"without {' and '.join(missing)} of {output.id!r} nothing can be compared",
                "add it: settings: {engrave: {speed: 900 mm/s, pitch: 0.1 mm}}",
            )
    return given.artwork.layer(engraved[0].layer).of(Operation.ENGRAVE).over(USUAL_SETTINGS)


def _areas(given: Simulation, layer: str) -> bool:
    """True for a layer with engraved areas, whatever a pass makes of them."""
    return any(s.layer == layer and s.is_engraved_area for s in given.drawn.shapes)


def colours_left(given: Simulation, most: int | None) -> int:
    """Most colours that the rounds of one layer may have, beside all else that is marked."""
    others = {o.id for o in given.outputs if not _areas(given, o.layer)}
    return MOST_COLOURS if most is None else min(MOST_COLOURS, most - len(others))


def can_be_one_layer(job: AdviceRequest, given: Simulation) -> bool:
    """True if the engraved layers are several and have equal settings, so that one would do."""
    recipe = job.loaded.recipe
    rules = [rule for rule in recipe.layers if rule.operation is Operation.ENGRAVE]
    names = {o.layer for o in given.outputs if _areas(given, o.layer)}
    settings = {given.artwork.layer(name).of(Operation.ENGRAVE) for name in names}
    plain = all(rule.settings == type(rule.settings)() for rule in rules)
    return len(names) > 1 and len(settings) == 1 and plain and not recipe.colours


def interleaved_ways(
    job: AdviceRequest, given: Simulation, colours: int, plain: Way
) -> Iterator[Way | LeftOutWay]:
    """The plain way, but every k-th row first: strips and own rows, in up to so many colours."""
    own = engrave_settings(given)
    k = usual_rounds(own.pitch or 0.1)
    whole = job.loaded.bench.machine_or_default.raster_groups is RasterGroups.EACH_COLOUR
    base = replace(plain, rounds=k, direction=Direction.TWO_WAY)
    counts = [n for n in dict.fromkeys((min(k, MOST_COLOURS), 2, 1)) if n <= colours]
    for count in counts:
        way = replace(base, form=Form.STRIPS, colours=count)
        if not whole:
            yield replace(way, powers=_start(count, own, job))
        elif count > 2:  # noqa: PLR2004 - two rounds leave too much to a wide spread
            yield replace(way, rounds=count, powers=_start(count, own, job))
    for count in counts:
        way = replace(base, form=Form.OWN_ROWS, colours=count, speed=own.speed, power=own.power)
        why = _no_own_rows(given)
        yield LeftOutWay(way=way, why=why) if why else replace(way, powers=_start(count, own, job))


def _no_own_rows(given: Simulation) -> str | None:
    if any(s.operation is Operation.SCORE for s in given.drawn.shapes):
        return _LINES
    layers = {o.layer for o in given.outputs if _areas(given, o.layer)}
    powers = {given.artwork.layer(name).of(Operation.ENGRAVE).power for name in layers}
    return _POWERS if len(powers) > 1 else None


def _start(colours: int, own: Settings, job: AdviceRequest) -> tuple[float, ...]:
    """Powers to begin with, none of them above what the machine can be set to."""
    powers, most = start_powers(colours), job.loaded.bench.machine_or_default.power.to
    over = max(1.0, max(powers) * (own.power or 1.0) / most)
    return tuple(round(power / over, 9) for power in powers)


def start_powers(colours: int) -> tuple[float, ...]:
    """Powers of so many colours over their mean: the first finds cold plastic, the last warm."""
    if colours == 2:  # noqa: PLR2004 - each of two stands for two of the four
        return (sum(START[:2]) / 2, sum(START[2:]) / 2)
    return start_factors(colours)


def other_ways(*, bars: bool) -> Iterator[Way]:
    """Bars and zones, for software that cannot interleave."""
    if bars:
        yield Way(bars=True, direction=Direction.ONE_WAY)
    yield Way(levels=3, direction=Direction.ONE_WAY)
