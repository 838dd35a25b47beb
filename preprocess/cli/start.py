"""``evenmark start``: a first recipe, measured on the drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from preprocess.cli import files, show
from preprocess.cli.options import YAML, AsJson, Quiet, Replace, Verbose, output
from preprocess.errors import Exit, Place, wrong
from preprocess.findings import Severity


def start(
    design: Annotated[
        str,
        typer.Argument(
            metavar="DRAWING", help="drawing (SVG), or - for standard input", show_default=False
        ),
    ],
    out: Annotated[
        str, output("recipe to write (YAML), or - for a pipe", "--out", "-o", endings=YAML)
    ] = "",
    *,
    replace: Replace = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write a first recipe, measured on a drawing."""
    drawing = files.read_drawing(design)
    target = out or drawing.beside("yaml")
    files.check_outputs([target], [drawing.path])
    if target != files.STREAM and Path(target).exists() and not replace:
        remedy = "name another with -o, or overwrite it with --replace"
        raise wrong("this recipe exists already", remedy, place=Place(target))
    from preprocess.recipe.load import load_recipe
    from preprocess.recipe.starter.drawing_measures import measure_drawing
    from preprocess.recipe.starter.first_recipe import first_recipe

    found = measure_drawing(drawing.data, drawing.name)
    text = first_recipe(found, files.seen_from(target, drawing.path), drawing.title)
    result = files.convert_drawing(load_recipe(None, text), drawing)
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
