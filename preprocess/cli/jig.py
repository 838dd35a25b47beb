"""``evenmark jig``: a card to cut, to place parts again and to shield the bed."""

from __future__ import annotations

from typing import Annotated

import typer

from preprocess.cli import files, jobs, show
from preprocess.cli.options import (
    STL,
    AsJson,
    Changes,
    DesignArgument,
    Quiet,
    RecipeArgument,
    Verbose,
    option,
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
        str, typer.Option(help="gap between a part and its window or pocket, with its unit")
    ] = "0.2 mm",
    print_: Annotated[
        str, output("tray to print (STL) instead; its plan (SVG) beside it", "--print", endings=STL)
    ] = "",
    depth: Annotated[
        str, option("of its pockets; that of the marked surface unless given, with its unit")
    ] = "",
    floor: Annotated[str, typer.Option(help="of plastic under its parts")] = "1.2 mm",
    card: Annotated[str, typer.Option(help="thickness of the card in its slots")] = "0.6 mm",
    layer: Annotated[str, typer.Option(help="height of the printer's layers")] = "0.2 mm",
    nozzle: Annotated[str, typer.Option(help="of the printer: no wall is thinner")] = "0.4 mm",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write a card to cut, or a tray to print, that holds parts.

    The card has a window for each part, and two datum marks. The tray has pockets, and slots for
    card under the bars.
    """
    gap = parse_quantity(clearance, LENGTH, "--clearance", positive=False)
    if print_:
        if out:
            raise typer.BadParameter("--out names the card, and --print the tray: give one")
        given = {"floor": floor, "card": card, "layer": layer, "nozzle": nozzle}
        measures = {key: parse_quantity(text, LENGTH, f"--{key}") for key, text in given.items()}
        measures |= {"depth": parse_quantity(depth, LENGTH, "--depth")} if depth else {}
        measures["clearance"] = gap
        quiet_job = quiet or json
        job = jobs.open_job(recipe, design, changes, quiet=quiet_job, columns=True, no_heat=True)
        _print_tray(job, print_, measures, quiet=quiet, verbose=verbose, json=json)
        return
    job = jobs.open_job(recipe, design, changes, quiet=quiet or json, columns=True, no_heat=True)
    target = out or job.drawing.beside("jig.svg")
    files.check_outputs([target], job.inputs)
    from preprocess.jig import make_jig
    from preprocess.recipe.text_rules import seats_on_tray

    seats = seats_on_tray(job.loaded.steps)

    result = files.convert_drawing(job.loaded, job.drawing, quiet=quiet or json)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    with files.refusal_as_error(job.named):
        settings = job.loaded.options.settings
        title = job.drawing.title
        made = make_jig(
            result.after, result.bench, settings, clearance=gap, seats=seats, name=title
        )
    show.print_findings(made.findings, as_json=json, quiet=quiet, verbose=verbose)
    if made.data is None:
        raise typer.Exit(Exit.USER)
    files.write_outputs([(target, made.data)], as_json=json, quiet=quiet)


def _print_tray(
    job: jobs.Job,
    target: str,
    measures: dict[str, float],
    *,
    quiet: bool,
    verbose: bool,
    json: bool,
) -> None:
    from preprocess.cli.jig_print import tray_to_print
    from preprocess.findings import stops

    result = files.convert_drawing(job.loaded, job.drawing, quiet=quiet or json)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    tray, plan = tray_to_print(job, result, target, measures)
    show.print_findings(tray.findings, as_json=json, quiet=quiet, verbose=verbose)
    if stops(tray.findings):
        raise typer.Exit(Exit.USER)
    files.write_outputs([(target, tray.stl), (plan, tray.plan)], as_json=json, quiet=quiet)
