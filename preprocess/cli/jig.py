"""``evenmark jig``: a card to cut, to place parts again and to shield the bed."""

from __future__ import annotations

from typing import Annotated

import typer

from preprocess.cli import files, jobs, show
from preprocess.cli.options import (
    AsJson,
    Changes,
    DesignArgument,
    Quiet,
    RecipeArgument,
    Verbose,
    output,
    parse_quantity,
)
from preprocess.errors import Exit
from preprocess.units import LENGTH


def jig(
    recipe: RecipeArgument = None,
    design: DesignArgument = None,
    *,
    out: Annotated[str, output("card (SVG), or - for a pipe", "--out", "-o")] = "",
    clearance: Annotated[
        str, typer.Option(help="gap between a part and its window, with its unit")
    ] = "0.2 mm",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write a card to cut that holds and shields parts.

    It has a window for each part, and two datum marks.
    """
    gap = parse_quantity(clearance, LENGTH, "--clearance", positive=False)
    job = jobs.open_job(recipe, design, changes, quiet=quiet or json, columns=True, no_heat=True)
    target = out or job.drawing.beside("jig.svg")
    files.check_outputs([target], job.inputs)
    from preprocess.jig import make_jig
    from preprocess.recipe.text_rules import seats_on_tray

    seats = seats_on_tray(job.loaded.steps)

    result = files.convert_drawing(job.loaded, job.drawing)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    with files.refusal_as_error(job.named):
        settings = job.loaded.options.settings
        title = job.drawing.title
        card = make_jig(
            result.after, result.bench, settings, clearance=gap, seats=seats, name=title
        )
    show.print_findings(card.findings, as_json=json, quiet=quiet, verbose=verbose)
    if card.data is None:
        raise typer.Exit(Exit.USER)
    files.write_outputs([(target, card.data)], as_json=json, quiet=quiet)
