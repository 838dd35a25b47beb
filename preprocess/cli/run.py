"""``evenmark run``: the main job, rewrites a design into a laser-ready SVG."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli.options import DESIGN, RECIPE, AsJson, NoHeat, Quiet, Strict

if TYPE_CHECKING:
    from preprocess.marking.prediction import Prediction


def run(
    recipe: Annotated[str, RECIPE],
    design: Annotated[Optional[str], DESIGN] = None,  # noqa: UP045 - typer reads it at run time
    *,
    out: Annotated[
        str,
        typer.Option("--out", "-o", help="laser-ready SVG, or - for a pipe", show_default=False),
    ] = "",
    overlay: Annotated[str, typer.Option(help="SVG that shows what was changed")] = "",
    sheet: Annotated[str, typer.Option(help="HTML page to take to the machine, and to print")] = "",
    report: Annotated[str, typer.Option(help="all about the run, as JSON")] = "",
    depfile: Annotated[str, typer.Option(help="all that was read, as a Makefile rule")] = "",
    no_heat: NoHeat = False,
    keep_old: Annotated[
        bool, typer.Option("--keep-old", help="leave files alone that would not change")
    ] = False,
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Rewrite a design as the recipe says."""
    from preprocess.cli import files, show
    from preprocess.errors import Exit
    from preprocess.findings import Severity

    loaded, drawing = files.load_recipe_and_drawing(recipe, design)
    target = out or drawing.beside("laser.svg")
    inputs = [*loaded.read_files, drawing.path]
    files.refuse_inputs([target, *filter(None, (overlay, sheet, report, depfile))], inputs)
    from preprocess.pipeline import (
        convert,
        make_overlay,
        make_report,
        make_sheet,
        predict_both,
        prediction_findings,
    )

    result = convert(loaded, drawing.data, drawing.name, strict=strict)
    show.print_findings(result.findings, as_json=json, quiet=quiet)
    if result.data is None:
        raise typer.Exit(Exit.USER)
    predicted = None if no_heat else predict_both(result)
    if predicted is not None:
        show.print_findings(prediction_findings(result, predicted[1]), as_json=json, quiet=quiet)
        if strict and any(f.severity is Severity.WARN for f in predicted[1].findings):
            raise typer.Exit(Exit.USER)
    written = [(target, result.data)]
    if overlay:
        written.append((overlay, make_overlay(result, drawing.title)))
    if sheet:
        written.append((sheet, make_sheet(result, loaded, drawing.title, predicted)))
    if report:
        written.append((report, make_report(result, loaded, drawing.title, predicted)))
    if depfile:
        written.append((depfile, files.makefile_rule(target, [*inputs, *result.font_files])))
    for path, data in written:
        _put(path, data, keep_old=keep_old, quiet=quiet, json=json)
    if predicted is not None:
        _tell_heat(predicted, quiet=quiet, json=json)


def _put(path: str, data: bytes, *, keep_old: bool, quiet: bool, json: bool) -> None:
    from preprocess.cli import files, show

    if keep_old and files.holds_bytes(path, data):
        show.tell_unchanged(path, as_json=json, quiet=quiet)
    else:
        files.write_output(path, data)
        show.tell_written(path, as_json=json, quiet=quiet)


def _tell_heat(predicted: tuple[Prediction, Prediction], *, quiet: bool, json: bool) -> None:
    from preprocess.cli import show
    from preprocess.marking.prediction import heat_figures

    if json:
        before, after = (heat_figures(prediction.heat) for prediction in predicted)
        show.print_result("heat", {"before": before, "after": after})
    elif not quiet:
        show.print_sentence(_evenness(predicted))


def _evenness(predicted: tuple[Prediction, Prediction]) -> str:
    """Before and after in one sentence; a prediction, and called one."""
    before, after = (prediction.heat for prediction in predicted)
    if not before.images or not after.images:
        return "no heat index: speed or pitch is missing, or nothing is engraved on the part"
    trust = f" ({after.trust})" if after.trust else ""
    return (
        f"predicted heat index: {before.median:.2f} varying by {100 * before.cv:.0f} % before, "
        f"{after.median:.2f} varying by {100 * after.cv:.0f} % after{trust}"
    )
