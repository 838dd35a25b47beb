"""``evenmark check``: what would stop or spoil the work; writes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from preprocess.cli import files, show
from preprocess.cli.options import AsJson, DesignArgument, NoHeat, Quiet, Strict, option
from preprocess.errors import Exit, Place, wrong
from preprocess.findings import Severity


def check(
    recipe: Annotated[
        Optional[str],
        typer.Argument(
            metavar="RECIPE",
            help="recipe (YAML), or - for standard input; with --against a written SVG, "
            "default: the one that the report names",
            show_default=False,
        ),
    ] = None,
    design: DesignArgument = None,
    *,
    against: Annotated[
        str, option("report (JSON): does the written SVG belong to it?", metavar="REPORT")
    ] = "",
    no_heat: NoHeat = False,
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Report what would stop or spoil the work; write nothing."""
    if against:
        if design is not None:
            raise typer.BadParameter("name one written SVG at most", param_hint="--against")
        _compare(recipe, Path(against), quiet=quiet, json=json)
        return
    if recipe is None:
        raise typer.BadParameter("name a recipe", param_hint="RECIPE")
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


def _compare(svg: str | None, report: Path, *, quiet: bool, json: bool) -> None:
    """Test whether a written SVG is the one that a report tells of."""
    from preprocess.model.options.limits import DrawingLimits
    from preprocess.read.xml.drawing_bytes import read_drawing_bytes
    from preprocess.write.digest import sha256_hex
    from preprocess.write.report import output_in_report

    most = DrawingLimits().file
    named, digest = output_in_report(read_drawing_bytes(report, most, "report"), str(report))
    if svg is None and named is None:
        remedy = "name the SVG before --against"
        raise wrong("this report does not name its SVG", remedy, place=Place(str(report)))
    path = report.parent / str(named) if svg is None else Path(svg)
    if sha256_hex(read_drawing_bytes(path, most, "SVG")) != digest:
        found = f"this is not the file that {report} tells of: changed, or of another run"
        raise wrong(found, "run evenmark again, and keep what it writes", place=Place(str(path)))
    if json:
        show.print_result("belongs", {"path": str(path), "report": str(report)})
    elif not quiet:
        show.print_sentence(f"{path} belongs to {report}")
