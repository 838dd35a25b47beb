"""Candidate ways for this design on this filament and machine: interleaved before all others."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.advice.simulate import LeftOutWay
from preprocess.advice.ways import Way
from preprocess.errors import wrong
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.rows.rounds import MOST_ROUNDS, usual_rounds
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.bench.machine import RasterGroups
from preprocess.passes.interleave.interleave import Form
from preprocess.passes.solve_power.round_response import START, start_factors
from preprocess.remedies.free_colours import free_colours

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.advice.simulate import AdviceRequest, Simulation
    from preprocess.model.artwork.settings import Settings

_GLADLY = 4
"""Colours that a person types in gladly; more only where each is one round, or to do better."""

_WIDER = 1.5
"""Factor on the rounds of a way that is still not even enough at a wide spread."""

_THIN, _LONG = 2.0, 4.0
"""A piece thinner than so many mm, and so many times as long, is a stalk."""

_LINES = (
    "lines beside them would get the power of the rows; give the lines a layer of their own, with "
    "operation: score"
)

_ONE_COLOUR = (
    "the software sweeps each colour as a whole, so rounds need two colours, and fewer are free"
)

_POWERS = "own rows have one power, and those of an ungraded filament stay as they are"

OWN_ROWS_UNGRADED = (
    "no own rows were graded, and they need another power than swept ones; grade an own-rows "
    "coupon, or list them with --beyond-graded"
)


SPEED_UNGRADED = (
    "it needs more power than the machine has, and no cell was graded that slowly; grade a "
    "power-speed coupon, or list it with --beyond-graded"
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


def colours_left(given: Simulation, most: int | None, *, one_layer: bool) -> int:
    """Most colours that the rounds of one layer may have, beside all else that is marked."""
    areas = {o.layer for o in given.outputs if _areas(given, o.layer)}
    machine = given.bench.machine_or_default
    return free_colours(given.outputs, areas, machine, most, one_layer=one_layer)


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
    """The plain way, but every k-th row first: strips, own rows, greys; in so many colours."""
    own = engrave_settings(given)
    k = usual_rounds(own.pitch or 0.1)
    base = replace(plain, rounds=k, direction=Direction.TWO_WAY)
    counts = [n for n in dict.fromkeys((min(k, _GLADLY), 2, 1)) if n <= colours]
    strips = [replace(base, form=Form.STRIPS, colours=count) for count in counts]
    if sweeps_whole_colours(job):
        count = max(1, min(k, colours))
        strips = [replace(base, form=Form.STRIPS, rounds=count, colours=count)]
    for way in strips:
        start = replace(way, powers=_start(way.colours, own, job))
        yield start if way.rounds > 1 else LeftOutWay(way=way, why=_ONE_COLOUR)
    why = _no_own_rows(job, given)
    for count in counts:
        way = replace(base, form=Form.OWN_ROWS, colours=count, speed=own.speed, power=own.power)
        yield LeftOutWay(way=way, why=why) if why else replace(way, powers=_start(count, own, job))
    if job.loaded.bench.machine_or_default.grey is not None:
        yield replace(base, rounds=0, images=k if k <= colours else 1)


def across_way(way: Way, own: Settings, colours: int) -> Way | None:
    """Greys with rows across those of a way, in one image more; None for other ways.

    A motif of a dozen rows along its length has three to an image, which follow within a tenth of
    a second; across there are many.
    """
    if way.images < 2 or way.angle is not None:  # noqa: PLR2004 - a single image has no rounds
        return None
    across = ((own.angle or 0.0) + 90.0) % 180.0
    return replace(way, images=min(way.images + 1, colours), angle=across)


def sweeps_whole_colours(job: AdviceRequest) -> bool:
    """True for software to which one colour is one round of strips."""
    return job.loaded.bench.machine_or_default.raster_groups is RasterGroups.EACH_COLOUR


def wider_way(way: Way, job: AdviceRequest, colours: int) -> Way | None:
    """The way with its rounds farther apart, in as many colours; None where there are no more."""
    rounds = min(math.ceil(_WIDER * way.rounds), MOST_ROUNDS)
    if sweeps_whole_colours(job) and way.form is Form.STRIPS:
        rounds = min(rounds, colours)
    if rounds <= way.rounds:
        return None
    count = min(rounds, colours)
    places = np.linspace(0, len(way.powers) - 1, count)
    powers = np.interp(places, range(len(way.powers)), way.powers) if way.powers else np.ones(count)
    return replace(way, rounds=rounds, colours=count, powers=tuple(np.round(powers, 9).tolist()))


def turned_way(way: Way, given: Simulation) -> Way | None:
    """The way with its rows across long thin pieces that lie along them; None where none does.

    A round of such a piece is three or four long rows. Across it they are many short ones, and what
    differs from row to row evens out within a place.
    """
    angle = engrave_settings(given).angle or 0.0
    if _lying(given, angle) <= _lying(given, angle + 90.0):
        return None
    return replace(way, angle=(angle + 90.0) % 180.0)


def _lying(given: Simulation, angle: float) -> float:
    """Area of the engraved pieces that lie along rows at an angle, mm²."""
    frame, area = RowFrame(angle), 0.0
    shapes = (shape for shape in given.drawn.shapes if shape.is_engraved_area)
    for piece in shapely.get_parts(union([shape.geometry for shape in shapes])):
        left, _, right, _ = frame.to_rows(piece).bounds
        thick = piece.area / (right - left)
        area += piece.area if thick < min(_THIN, (right - left) / _LONG) else 0.0
    return area


def _no_own_rows(job: AdviceRequest, given: Simulation) -> str | None:
    rules = job.loaded.recipe.layers
    lines = {rule.name for rule in rules if rule.operation is Operation.SCORE}
    layers = {o.layer for o in given.outputs if _areas(given, o.layer)}
    own = lines - layers
    if any(s.operation is Operation.SCORE and s.layer not in own for s in given.drawn.shapes):
        return _LINES
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
