"""``evenmark run``: the main job, rewrites a design into a laser-ready SVG."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from preprocess.cli import files, show
from preprocess.cli.options import (
    AsJson,
    DesignArgument,
    NoHeat,
    Quiet,
    RecipeArgument,
    Strict,
    option,
)
from preprocess.errors import Exit
from preprocess.findings import Severity
from preprocess.write.makefile_rule import makefile_rule

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.cli.files import DrawingFile
    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe


def run(
    recipe: RecipeArgument,
    design: DesignArgument = None,
    *,
    out: Annotated[str, option("laser-ready SVG, or - for a pipe", "--out", "-o")] = "",
    overlay: Annotated[str, option("picture of what was changed (SVG)")] = "",
    sheet: Annotated[str, option("job sheet for the machine, to print (HTML)")] = "",
    report: Annotated[str, option("report of the run (JSON)")] = "",
    depfile: Annotated[str, option("Makefile rule that names every file read")] = "",
    record: Annotated[
        str, option("folder of the record; this run gets an entry", metavar="FOLDER")
    ] = "",
    no_heat: NoHeat = False,
    keep_old: Annotated[
        bool, typer.Option("--keep-old", help="leave files alone that would not change")
    ] = False,
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Rewrite a design as the recipe says."""
    loaded, drawing = files.load_recipe_and_drawing(recipe, design)
    target = out or drawing.beside("laser.svg")
    inputs = [*loaded.read_files, drawing.path]
    files.check_outputs([target, overlay, sheet, report, depfile], inputs)
    from preprocess.process_limits import within_limits

    result = files.convert_drawing(loaded, drawing, strict=strict)
    entries: list[tuple[str, bytes]] = []
    if record and result.data is not None:
        result, entry = _recorded(result, loaded, drawing, target, Path(record))
        entries.append(entry)
    show.print_findings(result.findings, as_json=json, quiet=quiet)
    if result.data is None or (strict and _warns(result.findings)):
        raise typer.Exit(Exit.USER)
    outputs = [(target, result.data), *entries]
    others = _Others(overlay=overlay, sheet=sheet, report=report, depfile=depfile)
    alone = not (any(others) or strict)
    if alone:  # nothing belongs together with it, and no later finding forbids it
        files.write_outputs(outputs, as_json=json, quiet=quiet, keep_old=keep_old)
    predicted = None if no_heat else _predicted(result, strict=strict, quiet=quiet, json=json)
    if not alone:
        with within_limits(loaded, drawing.name):
            outputs += _others(others, result, loaded, (target, drawing), predicted)
        files.write_outputs(outputs, as_json=json, quiet=quiet, keep_old=keep_old)
    show.print_cautions(as_json=json, quiet=quiet)
    if predicted is not None:
        _tell_heat(predicted, quiet=quiet, json=json)


def _warns(findings: Iterable[Finding]) -> bool:
    return any(finding.severity is Severity.WARN for finding in findings)


def _recorded(
    result: Conversion, loaded: LoadedRecipe, drawing: DrawingFile, target: str, folder: Path
) -> tuple[Conversion, tuple[str, bytes]]:
    """The conversion with what the record says of it, and its own entry to write."""
    from preprocess.record.entry import entry_of
    from preprocess.record.folder import added, read_entries
    from preprocess.record.history import history_findings
    from preprocess.write.targets import unwritable_as_error

    known = read_entries(folder)
    svg = None if target == files.STREAM else Path(target).name
    entry = entry_of(result, loaded, drawing.data, (drawing.title, svg))
    path, data = added(entry, folder, known)
    with unwritable_as_error(folder):
        folder.mkdir(parents=True, exist_ok=True)
    files.check_outputs([str(path)], [])
    warned = (*result.findings, *history_findings(entry, known))
    return replace(result, findings=warned), (str(path), data)


class _Others(NamedTuple):
    """Paths of what is made beside the SVG; empty where it is not wanted."""

    overlay: str
    sheet: str
    report: str
    depfile: str


def _predicted(
    result: Conversion, *, strict: bool, quiet: bool, json: bool
) -> tuple[Prediction, Prediction]:
    from preprocess.pipeline import predict_both, prediction_findings

    with show.progress_bar(100, "heat", quiet=quiet or json) as advance:
        predicted = predict_both(result, show.percents(advance))
    later = prediction_findings(result, predicted[1])
    show.print_findings(later, as_json=json, quiet=quiet)
    if strict and _warns(later):
        raise typer.Exit(Exit.USER)
    return predicted


def _others(
    wanted: _Others,
    result: Conversion,
    loaded: LoadedRecipe,
    names: tuple[str, DrawingFile],
    predicted: tuple[Prediction, Prediction] | None,
) -> list[tuple[str, bytes]]:
    from preprocess.pipeline import make_overlay, make_report, make_sheet

    made = []
    target, drawing = names
    if wanted.overlay:
        made.append((wanted.overlay, make_overlay(result, drawing.title)))
    if wanted.sheet:
        svg = files.seen_from(wanted.sheet, target)
        made.append((wanted.sheet, make_sheet(result, loaded, drawing.title, predicted, svg)))
    if wanted.report:
        svg = files.seen_from(wanted.report, target)
        made.append((wanted.report, make_report(result, loaded, drawing.title, predicted, svg)))
    if wanted.depfile:
        inputs = [*loaded.read_files, drawing.path, *result.font_files]
        made.append((wanted.depfile, makefile_rule(target, inputs)))
    return made


def _tell_heat(predicted: tuple[Prediction, Prediction], *, quiet: bool, json: bool) -> None:
    from preprocess.marking.prediction import heat_figures

    if json:
        before, after = (heat_figures(prediction) for prediction in predicted)
        show.print_result("heat", {"before": before, "after": after})
    elif not quiet:
        show.print_sentence(_evenness(predicted))


def _evenness(predicted: tuple[Prediction, Prediction]) -> str:
    """Before and after in one sentence; a prediction, and called one."""
    from preprocess.marking.prediction import evenness_sentence

    before, after = predicted
    told = None if before.objective is None else evenness_sentence(after, before)
    if told is None:
        return "no heat index: speed or pitch is missing, or nothing is engraved on the part"
    return f"predicted: {told}"
