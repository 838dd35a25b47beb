"""``evenmark check``: what would stop or spoil the work; writes nothing."""

from __future__ import annotations

import typer

from preprocess.cli import files, show
from preprocess.cli.options import AsJson, DesignArgument, NoHeat, Quiet, RecipeArgument, Strict
from preprocess.errors import Exit
from preprocess.findings import Severity


def check(
    recipe: RecipeArgument,
    design: DesignArgument = None,
    *,
    no_heat: NoHeat = False,
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Report what would stop or spoil the work; write nothing."""
    loaded, drawing = files.load_recipe_and_drawing(recipe, design)
    result = files.convert_drawing(loaded, drawing, strict=strict)
    show.print_findings(result.findings, as_json=json, quiet=quiet)
    if result.data is None:
        raise typer.Exit(Exit.USER)
    if not no_heat:
        from preprocess.marking.prediction import predict
        from preprocess.pipeline import prediction_findings

        later = prediction_findings(result, predict(result.after, result.bench, surely=False))
        show.print_findings(later, as_json=json, quiet=quiet)
        if strict and any(finding.severity is Severity.WARN for finding in later):
            raise typer.Exit(Exit.USER)
    if not quiet and not json:
        show.print_sentence("no fault found in the file; a prediction, no promise")
