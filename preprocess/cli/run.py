"""``evenmark run``: the main job, rewrites a design into a laser-ready SVG."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from preprocess.cli import files, jobs, show, waiting
from preprocess.cli.options import (
    ENDINGS,
    HTML,
    JSON,
    Also,
    AsJson,
    Changes,
    DesignArgument,
    NoHeat,
    Quiet,
    RecipeArgument,
    Strict,
    Verbose,
    expect_heat,
    option,
    output,
    parse_products,
)
from preprocess.errors import Exit
from preprocess.findings import halting
from preprocess.write.makefile_rule import makefile_rule

if TYPE_CHECKING:
    from preprocess.cli.jobs import Job
    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.pipeline import Conversion


def run(
    recipe: RecipeArgument = None,
    design: DesignArgument = None,
    *,
    out: Annotated[str, output("laser-ready SVG, or - for a pipe", "--out", "-o")] = "",
    overlay: Annotated[str, output("picture of what was changed (SVG)")] = "",
    sheet: Annotated[str, output("job sheet for the machine, to print (HTML)", endings=HTML)] = "",
    report: Annotated[str, output("report of the run (JSON)", endings=JSON)] = "",
    page: Annotated[str, output("page that plays the beam and its heat (HTML)", endings=HTML)] = "",
    also: Also = "",
    depfile: Annotated[
        str, option("Makefile rule that names every file read", metavar="FILE")
    ] = "",
    record: Annotated[
        str, option("folder of the record; this run gets an entry", metavar="FOLDER")
    ] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    no_heat: NoHeat = False,
    keep_old: Annotated[
        bool, typer.Option("--keep-old", help="leave files alone that would not change")
    ] = False,
    strict: Strict = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Rewrite a drawing into one that marks evenly."""
    job = jobs.open_job(recipe, design, changes, quiet=quiet or json, no_heat=no_heat)
    target = out or job.drawing.beside("laser.svg")
    wanted = _with_usual(_Wanted(target, overlay, sheet, report, page, depfile), also, job)
    expect_heat(wanted.page, no_heat=no_heat)
    files.check_outputs(wanted, job.inputs)
    from preprocess import pipeline

    result = files.convert_drawing(job.loaded, job.drawing, strict=strict, quiet=quiet or json)
    entries: list[tuple[str, bytes]] = []
    if record and result.data is not None:
        result, entry = _recorded(result, job, target, Path(record))
        entries.append(entry)
    if result.data is None or halting(result.findings, strict=strict):
        show.print_findings(result.findings, as_json=json, quiet=quiet, verbose=verbose)
        raise typer.Exit(Exit.USER)
    first, predicted = [(target, result.data), *entries], None
    alone = not (any(wanted[1:]) or strict)  # nothing belongs with it, no finding forbids it
    kept = files.write_all(first, keep_old=keep_old) if alone else []
    if not no_heat:
        with waiting.progress_of("heat", quiet=quiet or json) as tell:
            predicted = pipeline.predict_both(result, tell)
    later = pipeline.prediction_findings(result, predicted[1]) if predicted else ()
    findings = (*result.findings, *later)
    if halting(later, strict=strict):
        show.print_findings(findings, as_json=json, quiet=quiet, verbose=verbose)
        raise typer.Exit(Exit.USER)
    outputs = [*first, *_others(job, result, predicted, wanted, quiet=quiet or json or alone)]
    if not alone:
        kept = files.write_all(outputs, keep_old=keep_old)
    if json or quiet or verbose:
        _tell_in_full(findings, outputs, kept, (json, quiet))
    if json and predicted:
        _print_heat(predicted)
    elif not quiet and not json:
        _summarise(result, findings, predicted, (outputs, kept), verbose=verbose)


def _recorded(
    result: Conversion, job: Job, target: str, folder: Path
) -> tuple[Conversion, tuple[str, bytes]]:
    """The conversion with what the record says of it, and its own entry to write."""
    from preprocess.record.entry import entry_of
    from preprocess.record.folder import added, read_entries
    from preprocess.record.history import history_findings
    from preprocess.write.targets import unwritable_as_error

    known = read_entries(folder)
    svg = None if target == files.STREAM else Path(target).name
    entry = entry_of(result, job.loaded, job.drawing.data, (job.drawing.title, svg))
    path, data = added(entry, folder, known)
    with unwritable_as_error(folder):
        folder.mkdir(parents=True, exist_ok=True)
    files.check_outputs([str(path)], [])
    warned = (*result.findings, *history_findings(entry, known))
    return replace(result, findings=warned), (str(path), data)


class _Wanted(NamedTuple):
    """Paths of the outputs; empty ones are not wanted."""

    target: str
    overlay: str
    sheet: str
    report: str
    page: str
    depfile: str


def _with_usual(named: _Wanted, also: str, job: Job) -> _Wanted:
    """The outputs, with the usual name for each product that is asked for without one.

    Raises:
        BadParameter: both the drawing and the output are piped, so nothing has a name.
    """
    place = job.drawing.path if named.target == files.STREAM else Path(named.target)
    missing = [one for one in parse_products(also) if not getattr(named, one)]
    if missing and place is None:
        raise typer.BadParameter("a pipe has no name; use --overlay FILE", param_hint="--also")
    return named._replace(
        **{one: files.usual_name(place, ENDINGS[one]) for one in missing if place is not None}
    )


def _others(
    job: Job,
    result: Conversion,
    predicted: tuple[Prediction, Prediction] | None,
    wanted: _Wanted,
    *,
    quiet: bool,
) -> list[tuple[str, bytes]]:
    """Every file that is wanted beside the laser-ready one."""
    from preprocess import pipeline
    from preprocess.process_limits import within_limits

    title = job.drawing.title if any(wanted[1:5]) else job.drawing.name
    outputs: list[tuple[str, bytes]] = []
    bar = waiting.progress_bar(3, "pictures", quiet=quiet)
    with bar as advance, within_limits(job.loaded, job.drawing.name):
        if wanted.overlay:
            outputs.append((wanted.overlay, pipeline.make_overlay(result, title)))
        advance()
        if wanted.sheet:
            svg = files.seen_from(wanted.sheet, wanted.target)
            page = pipeline.make_sheet(result, job.loaded, title, predicted, svg)
            outputs.append((wanted.sheet, page))
        advance()
        if wanted.page and predicted:
            from preprocess.playback.page.page import playback_page

            outputs.append((wanted.page, playback_page(result, predicted, title)))
    if wanted.report:
        svg = files.seen_from(wanted.report, wanted.target)
        told = pipeline.make_report(result, job.loaded, title, predicted, svg)
        outputs.append((wanted.report, told))
    if wanted.depfile:
        rule = makefile_rule(wanted.target, [*job.inputs, *result.font_files])
        outputs.append((wanted.depfile, rule))
    return outputs


def _tell_in_full(
    findings: tuple[Finding, ...],
    outputs: list[tuple[str, bytes]],
    kept: list[str],
    how: tuple[bool, bool],
) -> None:
    """Findings one by one and every file; `how` is whether in JSON, and whether quietly."""
    json, quiet = how
    show.print_findings(findings, as_json=json, quiet=quiet, verbose=not (json or quiet))
    if json:
        files.tell_all([path for path, _ in outputs], kept, as_json=True)


def _print_heat(predicted: tuple[Prediction, Prediction]) -> None:
    from preprocess.marking.prediction import heat_figures

    before, after = (heat_figures(prediction) for prediction in predicted)
    show.print_result("heat", {"before": before, "after": after})


def _summarise(
    result: Conversion,
    findings: tuple[Finding, ...],
    predicted: tuple[Prediction, Prediction] | None,
    written: tuple[list[tuple[str, bytes]], list[str]],
    *,
    verbose: bool,
) -> None:
    """The summary; with all findings told before, without them."""
    from preprocess.cli.summary import RunStory, summary_lines
    from preprocess.marking.job.plan import plan_of
    from preprocess.marking.job.schedule import schedule_of

    machine = result.bench.machine_or_default
    schedule = (
        predicted[1].schedule if predicted else schedule_of(plan_of(result.after, machine), machine)
    )
    story = RunStory(
        result=result,
        findings=() if verbose else findings,
        predicted=predicted,
        total=schedule.total,
        paths=[path for path, _ in written[0]],
        kept=written[1],
    )
    show.print_lines(summary_lines(story))
