"""``evenmark jig``: a card to cut, to place parts again and to shield the bed."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from preprocess.cli.options import DESIGN, RECIPE, AsJson, Quiet


def jig(
    recipe: Annotated[str, RECIPE],
    design: Annotated[Optional[str], DESIGN] = None,  # noqa: UP045 - typer reads it at run time
    *,
    out: Annotated[
        str,
        typer.Option("--out", "-o", help="card as SVG, or - for a pipe", show_default=False),
    ] = "",
    clearance: Annotated[
        str, typer.Option(help="between a part and its window, with its unit")
    ] = "0.2 mm",
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Write a card to cut, with a window for each part and two datum marks."""
    from preprocess.cli import files, show
    from preprocess.errors import Exit, Place, Refusal, wrong

    gap = _length(clearance)
    loaded, drawing = files.load_recipe_and_drawing(recipe, design)
    target = out or drawing.beside("jig.svg")
    files.refuse_inputs([target], [*loaded.read_files, drawing.path])
    from preprocess.jig import make_jig
    from preprocess.pipeline import convert

    result = convert(loaded, drawing.data, drawing.name)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    try:
        card = make_jig(result.after, result.bench, loaded.wanted.settings, clearance=gap)
    except Refusal as refusal:
        raise wrong(refusal.found, refusal.remedy, place=Place(recipe)) from refusal
    show.print_findings(card.findings, as_json=json, quiet=quiet)
    if card.data is None:
        raise typer.Exit(Exit.USER)
    files.write_output(target, card.data)
    show.tell_written(target, as_json=json, quiet=quiet)


def _length(text: str) -> float:
    from preprocess.units import LENGTH, UnitError

    try:
        value = LENGTH.parse(text)
    except UnitError as error:
        raise typer.BadParameter(str(error), param_hint="--clearance") from error
    if value < 0:
        raise typer.BadParameter("a clearance is not below 0 mm", param_hint="--clearance")
    return value
