"""Simulation of one way: the recipe is rewritten, converted as usual, and its heat predicted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.advice.ways import edit_of
from preprocess.errors import UserError
from preprocess.findings import Severity
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.output import output_layers
from preprocess.process_limits import convert_within_limits
from preprocess.recipe.load import load_recipe
from preprocess.recipe.starter.recipe_edit import rewrite_recipe
from preprocess.remedies.speeds import with_row_speed

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.advice.ways import Way
    from preprocess.engine.progress import StepMemory
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench
    from preprocess.recipe.load import LoadedRecipe


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceRequest:
    """Request for advice: the text of the recipe, where it lies, and the drawing.

    `path` is None for a recipe that was piped; `design` is what to call the drawing.
    """

    text: str
    path: Path | None
    loaded: LoadedRecipe
    data: bytes
    design: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulation:
    """A way as it would be written, simulated; `drawn` is the drawing before any pass for heat.

    Where its powers are still to be searched for, its `heat` is a quick look.
    """

    way: Way
    drawn: Artwork
    artwork: Artwork
    bench: Bench
    plan: Plan
    schedule: Schedule
    heat: HeatIndex

    @property
    def outputs(self) -> tuple[OutputLayer, ...]:
        """The colour layers."""
        return output_layers(self.artwork)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOutWay:
    """A way that cannot be marked, and why."""

    way: Way
    why: str


def recipe_text(job: AdviceRequest, way: Way) -> str:
    """The recipe for a way: rewritten, or as it stands."""
    if way.given:
        return job.text
    return rewrite_recipe(job.text, edit_of(way, job.loaded.recipe.passes))


def simulate_way(
    job: AdviceRequest, way: Way, memory: StepMemory, speed: float | None = None
) -> Simulation | LeftOutWay:
    """Convert the design in some way, and predict its heat, as finely as its powers are settled.

    Args:
        job: what advice is asked on.
        way: to mark it.
        memory: of all ways of the job.
        speed: of the rows of areas, mm/s, where the way is to be slower.

    Raises:
        UserError: the recipe itself does not run.
    """
    text = recipe_text(job, way)
    try:
        loaded = load_recipe(job.path, text, str(job.loaded.design))
        result = convert_within_limits(loaded, job.data, job.design, memory=memory)
    except UserError as error:
        if way.given:
            raise
        return LeftOutWay(way=way, why=error.complaints[0].found)
    if result.data is None:
        stops = (f.message for f in result.findings if f.severity is Severity.STOP)
        return LeftOutWay(way=way, why=next(stops))
    if speed is not None:
        way, after = replace(way, speed=speed), with_row_speed(result.after, speed)
    else:
        after = result.after
    return _predicted(way, result.drawn, after, result.bench)


def _predicted(way: Way, drawn: Artwork, artwork: Artwork, bench: Bench) -> Simulation:
    plan = plan_of(artwork, bench.machine_or_default)
    schedule = schedule_of(plan, bench.machine_or_default)
    heat = heat_index_of_plan(plan, schedule, artwork, bench, effort=way.effort)
    return Simulation(
        way=way,
        drawn=drawn,
        artwork=artwork,
        bench=bench,
        plan=plan,
        schedule=schedule,
        heat=heat,
    )


def slowed(trial: Simulation, speed: float) -> Simulation:
    """The same with the rows of its areas at another speed, mm/s: no pass depends on it."""
    way = replace(trial.way, speed=speed)
    return _predicted(way, trial.drawn, with_row_speed(trial.artwork, speed), trial.bench)
