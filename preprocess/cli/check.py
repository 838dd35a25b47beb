"""``evenmark check``: what would stop or spoil the work; writes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from preprocess.cli import jobs, show, waiting
from preprocess.cli.files import convert_drawing
from preprocess.cli.options import (
    AsJson,
    Changes,
    DesignArgument,
    NoHeat,
    Quiet,
    Strict,
    Verbose,
    option,
)
from preprocess.errors import Exit, Place, wrong
from preprocess.findings import halting


def check(
    recipe: Annotated[
        Optional[str],
        typer.Argument(
            metavar="RECIPE",
            help="recipe (YAML), or a drawing (SVG) to measure one from; - for standard input; "
            "with --against the written SVG, default: the one that the report names",
            show_default=False,
        ),
    ] = None,
    design: DesignArgument = None,
    *,
    against: Annotated[
        str, option("report (JSON): does the written SVG belong to it?", metavar="REPORT")
    ] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    no_heat: NoHeat = False,
    strict: Strict = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Report what would stop or spoil the work."""
    if against:
        if design is not None:
            raise typer.BadParameter("name one written SVG at most", param_hint="--against")
        _compare(recipe, Path(against), quiet=quiet, json=json)
        return
    job = jobs.open_job(recipe, design, changes, quiet=quiet or json, no_heat=no_heat)
    result = convert_drawing(job.loaded, job.drawing, strict=strict, quiet=quiet or json)
    findings = result.findings
    if result.data is not None and not no_heat:
        from preprocess.pipeline import prediction_findings
        from preprocess.remedies.tried_prediction import predict_output

        with waiting.progress_of("heat", quiet=quiet or json) as tell:
            after = predict_output(result.drawn, result.after, result.bench, tell)
        findings += prediction_findings(result, after)
    show.print_findings(findings, as_json=json, quiet=quiet, verbose=verbose)
    if result.data is None or halting(findings, strict=strict):
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
