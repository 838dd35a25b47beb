"""``evenmark advise``: compares ways to even out a design on its filament."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli import files, jobs, show, waiting
from preprocess.cli.options import (
    JSON,
    YAML,
    AsJson,
    Changes,
    DesignArgument,
    Quiet,
    RecipeArgument,
    option,
    output,
)
from preprocess.errors import wrong

if TYPE_CHECKING:
    from preprocess.advice.advise import Advice
    from preprocess.advice.simulate import AdviceRequest
    from preprocess.cli.jobs import Job


def advise(
    recipe: RecipeArgument = None,
    design: DesignArgument = None,
    *,
    write: Annotated[str, output("recipe to write, for the chosen way", endings=YAML)] = "",
    choose: Annotated[Optional[int], option("number of the way; default: the best", min=0)] = None,
    most_layers: Annotated[Optional[int], option("at most this many colour layers", min=1)] = None,
    most_minutes: Annotated[Optional[float], option("at most this many minutes", min=0.0)] = None,
    beyond_graded: Annotated[
        bool, typer.Option("--beyond-graded", help="list ways too that no graded cell resembles")
    ] = False,
    no_bars: Annotated[bool, typer.Option("--no-bars", help="only ways without bars")] = False,
    report: Annotated[str, output("report of all ways (JSON), or - for a pipe", endings=JSON)] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Compare ways to even out a drawing, and their price."""
    if choose is not None and not write:
        raise typer.BadParameter("--choose needs --write FILE")
    held = jobs.open_job(recipe, design, changes, quiet=quiet or json)
    drawing = held.drawing
    files.check_outputs([write, report], held.inputs)
    from preprocess.advice.advise import SIMULATION_COUNT, AdviceLimits, compare_ways
    from preprocess.advice.report import advice_bytes, advice_data
    from preprocess.advice.simulate import AdviceRequest

    job = AdviceRequest(
        text=held.text,
        path=held.path,
        loaded=held.loaded,
        data=drawing.data,
        design=drawing.name,
    )
    time = None if most_minutes is None else 60.0 * most_minutes
    limits = AdviceLimits(
        layers=most_layers, bars=not no_bars, time=time, beyond_graded=beyond_graded
    )
    ways = [waiting.SIMULATION] * SIMULATION_COUNT
    with waiting.progress_in_slots(ways, "ways", quiet=quiet or json) as done:
        advice = compare_ways(job, limits, done)
    if json:
        show.print_result("advice", advice_data(advice, job, drawing.title))
    elif not quiet and files.STREAM not in (write, report):
        _tell(advice, job, held.recipe_name)
    written = []
    if report:
        written.append((report, advice_bytes(advice, job, drawing.title)))
    if write:
        written.append((write, _recipe(advice, job, choose, (write, _design_named(held, design)))))
    files.write_outputs(written, as_json=json, quiet=quiet)


def _design_named(held: Job, design: str | None) -> str | None:
    """The drawing that the command names, unless the recipe's own text names it already."""
    return None if design is None or held.measured else str(held.loaded.design)


def _recipe(
    advice: Advice, job: AdviceRequest, choose: int | None, names: tuple[str, str | None]
) -> bytes:
    """Text of the recipe for the chosen way; its paths hold from where it will lie."""
    from preprocess.advice.sentences import best_number, numbered_ways
    from preprocess.advice.simulate import recipe_text
    from preprocess.loading.yaml.text_files import relative_path
    from preprocess.recipe.starter.recipe_edit import move_recipe, name_design

    ways, (target, design) = numbered_ways(advice), names
    number = best_number(advice) if choose is None else choose
    if number not in ways:
        raise wrong(f"way {number} does not exist", f"choose one of {', '.join(map(str, ways))}")
    text = recipe_text(job, ways[number].way)
    folder = job.path.parent if job.path else Path()
    if design is not None and design != files.STREAM:
        text = name_design(text, relative_path(Path(design), folder))
    there = Path() if target == files.STREAM else Path(target).parent
    return move_recipe(text, folder, there).encode()


def _tell(advice: Advice, job: AdviceRequest, recipe: str) -> None:
    from preprocess.advice import sentences as telling
    from preprocess.advice.why_not import why_not_sentences

    show.print_paragraph(telling.answer(advice))
    ways = telling.numbered_ways(advice)
    show.print_text("\n")
    show.print_heading("Ways to mark it")
    headings, *rows = telling.ways_table(ways)
    show.print_table(headings, rows)
    for number, one in ways.items():
        if not one.way.given:
            lines, more = telling.recipe_lines(job, one)
            show.print_text("\n")
            show.print_heading(f"{number} {one.way.title}")
            show.print_paragraph(telling.way_sentence(one))
            show.print_text(lines)
            if more:
                show.print_paragraph(more)
    show.print_text("\n")
    for sentence in [
        *why_not_sentences(advice),
        *telling.closing_sentences(advice, recipe),
        *telling.left_out_sentences(advice),
    ]:
        show.print_paragraph(sentence)
