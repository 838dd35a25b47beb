"""``evenmark check``: what would stop or spoil the work; writes nothing."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from preprocess.cli.options import DESIGN, RECIPE, AsJson, NoHeat, Quiet, Strict


def check(
    recipe: Annotated[str, RECIPE],
    design: Annotated[Optional[str], DESIGN] = None,  # noqa: UP045 - typer reads it at run time
    *,
    no_heat: NoHeat = False,
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Say what would stop or spoil the work; write nothing."""
    from preprocess.cli import files, show
    from preprocess.errors import Exit
    from preprocess.findings import Severity

    loaded, drawing = files.load_recipe_and_drawing(recipe, design)
    from preprocess.pipeline import convert, expected

    result = convert(loaded, drawing.data, drawing.name, strict=strict)
    show.print_findings(result.findings, as_json=json, quiet=quiet)
    if result.data is None:
        raise typer.Exit(Exit.USER)
    if not no_heat:
        later = expected(result)
        show.print_findings(later, as_json=json, quiet=quiet)
        if strict and any(finding.severity is Severity.WARN for finding in later):
            raise typer.Exit(Exit.USER)
    if not quiet and not json:
        show.print_sentence("nothing stops this job")
