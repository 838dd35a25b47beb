"""``evenmark advise``: compares ways to even out a design on its filament."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli.options import DESIGN, RECIPE, AsJson, Quiet

if TYPE_CHECKING:
    from preprocess.advice.advise import Advice
    from preprocess.advice.job import Job


def advise(
    recipe: Annotated[str, RECIPE],
    design: Annotated[Optional[str], DESIGN] = None,  # noqa: UP045 - typer reads it at run time
    *,
    write: Annotated[
        str, typer.Option(help="write the chosen way as a recipe that runs", show_default=False)
    ] = "",
    choose: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option(min=0, help="number of the way to write; the best unless given"),
    ] = None,
    most_layers: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option(min=1, help="only ways with at most this many colour layers"),
    ] = None,
    most_minutes: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(min=0.0, help="only ways that are marked in at most this many minutes"),
    ] = None,
    no_bars: Annotated[bool, typer.Option("--no-bars", help="only ways without bars")] = False,
    report: Annotated[
        str, typer.Option(help="everything as JSON, or - for a pipe", show_default=False)
    ] = "",
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Compare ways to even out this design on this filament, and say what each one costs."""
    from preprocess.cli import files, show

    if choose is not None and not write:
        raise typer.BadParameter("--choose says which way to write: name a file with --write")
    text, loaded, drawing = files.load_with_text(recipe, design)
    files.refuse_inputs(list(filter(None, (write, report))), [*loaded.read_files, drawing.path])
    from preprocess.advice.advise import SIMULATIONS, Limits
    from preprocess.advice.advise import advise as compare_ways
    from preprocess.advice.job import Job
    from preprocess.advice.report import data_of, report_bytes

    path = None if recipe == files.STREAM else Path(recipe)
    job = Job(text=text, path=path, loaded=loaded, data=drawing.data, design=drawing.name)
    time = None if most_minutes is None else 60.0 * most_minutes
    limits = Limits(layers=most_layers, bars=not no_bars, time=time)
    with show.progress(SIMULATIONS, "ways", quiet=quiet or json) as advance:
        advice = compare_ways(job, limits, advance)
    if json:
        show.result("advice", data_of(advice, job, drawing.title))
    elif not quiet and files.STREAM not in (write, report):
        _tell(advice, job, recipe)
    written = []
    if report:
        written.append((report, report_bytes(advice, job, drawing.title)))
    if write:
        written.append((write, _recipe(advice, job, choose, (write, design))))
    for target, data in written:
        files.write(target, data)
        show.wrote(target, as_json=json, quiet=quiet)


def _recipe(advice: Advice, job: Job, choose: int | None, names: tuple[str, str | None]) -> bytes:
    """The chosen way as the text of a recipe, whose files are found from where it will lie."""
    from preprocess.advice.job import text_of
    from preprocess.advice.telling import best_of, numbered
    from preprocess.cli import files
    from preprocess.errors import wrong
    from preprocess.recipe.starter.edit import moved, named

    ways, (target, design) = numbered(advice), names
    number = best_of(advice) if choose is None else choose
    if number not in ways:
        raise wrong(f"there is no way {number} here", f"choose one of {', '.join(map(str, ways))}")
    way = ways[number].way
    text = job.text if way.given else text_of(job, way)
    folder = job.path.parent if job.path else Path()
    if design is not None and design != files.STREAM:
        text = named(text, Path(os.path.relpath(design, folder)).as_posix())
    there = Path() if target == files.STREAM else Path(target).parent
    return moved(text, folder, there).encode()


def _tell(advice: Advice, job: Job, recipe: str) -> None:
    from preprocess.advice import telling
    from preprocess.advice.beyond import ungraded
    from preprocess.cli import show

    show.paragraph(telling.first_answer(advice))
    if advice.paces:
        show.table(("speed", "power", *telling.HEADINGS[1:-1]), telling.pace_table(advice.paces))
    ways = telling.numbered(advice)
    show.out("\n")
    show.heading("Ways to mark it")
    show.table(telling.HEADINGS, telling.table(ways))
    if len(ways) > 1:
        show.out("\n" + "\n".join(telling.plot(ways)) + "\n")
    for number, one in ways.items():
        if not one.way.given:
            lines, more = telling.paste(job, one)
            show.out("\n")
            show.heading(f"{number} {one.way.title}")
            show.out(lines)
            if more:
                show.paragraph(more)
    show.out("\n")
    guesses = ungraded(advice, job.loaded.filament)
    for sentence in (*guesses, *telling.closing(advice, recipe), *telling.reasons(advice)):
        show.paragraph(sentence)
