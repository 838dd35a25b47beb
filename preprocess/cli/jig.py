"""``evenmark jig``: a card to cut, to place parts again and to shield the bed."""

from __future__ import annotations

from typing import Annotated

import typer

from preprocess.cli import files, show
from preprocess.cli.options import (
    AsJson,
    DesignArgument,
    Quiet,
    RecipeArgument,
    option,
    parse_quantity,
)
from preprocess.errors import Exit
from preprocess.units import LENGTH


def jig(
    recipe: RecipeArgument,
    design: DesignArgument = None,
    *,
    out: Annotated[str, option("card (SVG), or - for a pipe", "--out", "-o")] = "",
    clearance: Annotated[
        str, typer.Option(help="gap between a part and its window, with its unit")
    ] = "0.2 mm",
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Write a card to cut, with a window for each part and two datum marks."""
    gap = parse_quantity(clearance, LENGTH, "--clearance", positive=False)
    loaded, drawing = files.load_recipe_and_drawing(recipe, design, columns=True)
    target = out or drawing.beside("jig.svg")
    files.check_outputs([target], [*loaded.read_files, drawing.path])
    from preprocess.jig import make_jig
    from preprocess.recipe.text_rules import seats_on_tray

    seats = seats_on_tray(loaded.steps)

    result = files.convert_drawing(loaded, drawing)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    with files.refusal_as_error(recipe):
        card = make_jig(
            result.after, result.bench, loaded.options.settings, clearance=gap, seats=seats
        )
    show.print_findings(card.findings, as_json=json, quiet=quiet)
    if card.data is None:
        raise typer.Exit(Exit.USER)
    files.write_outputs([(target, card.data)], as_json=json, quiet=quiet)
