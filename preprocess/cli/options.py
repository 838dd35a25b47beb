"""Arguments and options that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

RECIPE = typer.Argument(
    metavar="RECIPE", help="the recipe (YAML), or - for standard input", show_default=False
)
DESIGN = typer.Argument(
    metavar="[DESIGN]",
    help="the drawing (SVG), or - for standard input; without it the one that the recipe names",
    show_default=False,
)
Strict = Annotated[bool, typer.Option("--strict", help="warnings stop the work too")]
Quiet = Annotated[bool, typer.Option("--quiet", help="say only what stops the work")]
AsJson = Annotated[bool, typer.Option("--json", help="findings and results as JSON lines")]
NoHeat = Annotated[bool, typer.Option("--no-heat", help="leave out the prediction of heat")]
