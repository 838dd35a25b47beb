"""``evenmark start``: a first recipe, measured on the drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli import files, jobs, show
from preprocess.cli.options import YAML, AsJson, Quiet, Replace, Verbose, option, output
from preprocess.errors import Exit, Place, wrong
from preprocess.findings import Severity

if TYPE_CHECKING:
    from preprocess.cli.start_model import ModelFiles


def start(
    design: Annotated[
        Optional[str],
        typer.Argument(
            metavar="DRAWING", help="drawing (SVG), or - for standard input", show_default=False
        ),
    ] = None,
    out: Annotated[
        str, output("recipe to write (YAML), or - for a pipe", "--out", "-o", endings=YAML)
    ] = "",
    *,
    model: Annotated[
        str, option("model of the part (STL, 3MF) to begin with; writes a drawing to draw on")
    ] = "",
    up: Annotated[str, option("side of the model that is marked: +z, -z, +x, …, face")] = "",
    unit: Annotated[str, option("unit of an STL: mm, cm, m, inch")] = "",
    machine: Annotated[str, option("machine file, for what is in focus")] = "",
    replace: Replace = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write a first recipe from a drawing or a part's model."""
    if model:
        if design is not None:
            found = f"start takes a drawing or --model, and was given {design} and {model}"
            raise wrong(found, "name one of them")
        from preprocess.cli.start_model import files_for_model

        made = files_for_model(model, out, {"up": up, "unit": unit}, machine, replace=replace)
        _tell(made, quiet=quiet, json=json)
        return
    if design is None:
        raise typer.BadParameter("name a drawing (SVG), or a part's --model", param_hint="DRAWING")
    if up or unit or machine:
        raise typer.BadParameter("--up, --unit and --machine belong to --model")
    jobs.expect_right_format(design)
    drawing = files.read_drawing(design)
    target = out or drawing.beside("yaml")
    files.check_outputs([target], [drawing.path])
    if target != files.STREAM and Path(target).exists() and not replace:
        remedy = "name another with -o, or overwrite it with --replace"
        raise wrong("this recipe exists already", remedy, place=Place(target))
    from preprocess.recipe.load import load_recipe
    from preprocess.recipe.starter.drawing_measures import measure_drawing
    from preprocess.recipe.starter.first_recipe import first_recipe

    measures = measure_drawing(drawing.data, drawing.name)
    text = first_recipe(measures, files.seen_from(target, drawing.path), drawing.title)
    result = files.convert_drawing(load_recipe(None, text), drawing, quiet=quiet or json)
    told = [f for f in result.findings if json or verbose or f.severity is not Severity.NOTE]
    show.print_findings(told, as_json=json, quiet=quiet, verbose=verbose)
    if result.data is None:
        raise typer.Exit(Exit.USER)
    files.write_outputs([(target, text.encode())], as_json=json, quiet=quiet)
    if not quiet and not json:
        show.print_sentence(
            "tried on the drawing, no fault found; `evenmark check` reports in full"
        )
    show.print_cautions(as_json=json, quiet=quiet)


def _tell(made: ModelFiles, *, quiet: bool, json: bool) -> None:
    show.print_findings(made.findings, as_json=json, quiet=quiet, verbose=not quiet)
    files.write_outputs(made.outputs, as_json=json, quiet=quiet)
    if not quiet and not json:
        show.print_sentence(made.next_step)
    show.print_cautions(as_json=json, quiet=quiet)
