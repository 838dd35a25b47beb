"""``evenmark predict``: rows, time and heat of the design as it would be written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from preprocess.cli import files, jobs, show, waiting
from preprocess.cli.options import (
    HTML,
    JSON,
    AsJson,
    Changes,
    DesignArgument,
    Quiet,
    RecipeArgument,
    Verbose,
    output,
)
from preprocess.errors import Exit
from preprocess.units import TIME, digits, place_text

if TYPE_CHECKING:
    from preprocess.marking.checks.dose_check import SecondOpinion
    from preprocess.marking.prediction import Prediction


def predict(
    recipe: RecipeArgument = None,
    design: DesignArgument = None,
    *,
    map_: Annotated[str, output("map of the heat index over the artwork (SVG)", "--map")] = "",
    report: Annotated[
        str, output("report of the prediction (JSON), or - for a pipe", endings=JSON)
    ] = "",
    page: Annotated[str, output("page that plays the beam and its heat (HTML)", endings=HTML)] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Predict rows, time and heat of the output."""
    job = jobs.open_job(recipe, design, changes, quiet=quiet or json)
    loaded, drawing = job.loaded, job.drawing
    files.check_outputs([map_, report, page], job.inputs)
    from preprocess.marking import prediction
    from preprocess.marking.checks.dose_check import second_opinion
    from preprocess.pipeline import make_report, prediction_findings
    from preprocess.remedies.tried_prediction import predict_output

    result = files.convert_drawing(loaded, drawing, quiet=quiet or json)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    with waiting.progress_of("heat", quiet=quiet or json) as tell:
        after = predict_output(result.drawn, result.after, result.bench, tell, surely=True)
    found = (*result.findings, *prediction_findings(result, after))
    show.print_findings(found, as_json=json, quiet=quiet, verbose=verbose)
    if json:
        show.print_result("prediction", prediction_data(after))
    elif not quiet and files.STREAM not in (map_, report, page):
        _tell(
            after,
            second_opinion(after.heat, after.plan, after.schedule, result.after, result.bench),
        )
    written = []
    if map_:
        from preprocess.preview.heat_map.heat_map import heat_map_svg

        picture = heat_map_svg(
            result.after,
            after.heat,
            bench=result.bench,
            findings=after.findings,
            title=drawing.title,
        )
        written.append((map_, picture))
    if report or page:
        with waiting.progress_of("heat as drawn", quiet=quiet or json) as tell:
            before = prediction.predict(result.drawn, result.bench, surely=False, tell=tell)
        both = (before, after)
    if report:
        written.append((report, make_report(result, loaded, drawing.title, both)))
    if page:
        from preprocess.playback.page.page import playback_page

        written.append((page, playback_page(result, both, drawing.title)))
    files.write_outputs(written, as_json=json, quiet=quiet)


def _tell(prediction: Prediction, second: SecondOpinion | None) -> None:
    schedule = prediction.schedule
    rows = [
        (
            layer.output.id,
            str(layer.output.operation),
            str(layer.rows or "-"),
            f"{layer.lasts:.1f} s",
            "-"
            if layer.shortest_return is None
            else f"{digits(1e3 * layer.shortest_return, 3)} ms",
        )
        for layer in schedule.layers
    ]
    show.print_table(("layer", "operation", "rows", "time", "shortest return"), rows)
    minutes = schedule.setting_up / 60
    show.print_paragraph(
        f"{TIME.text(round(schedule.total, 1))} in all from the first light to the last, and about "
        f"{minutes:.0f} min to type the layers in."
    )
    for line in heat_paragraphs(prediction):
        show.print_paragraph(line)
    if second is not None and second.dose is not None:
        show.print_paragraph(
            f"The hottest place is at {place_text(second.spot)}: {second.index:.2f} times the "
            f"median by the index, {digits(second.dose, 3)} times by the smoothed dose (a second "
            "opinion; only its order counts)."
        )


def prediction_data(prediction: Prediction) -> dict[str, Any]:
    """Figures of the table and the sentences, for scripts; keys as in the report."""
    from preprocess.marking.prediction import heat_figures

    schedule = prediction.schedule
    layers = [
        {
            "id": layer.output.id,
            "operation": str(layer.output.operation),
            "rows": layer.rows,
            "time_s": layer.lasts,
            "shortest_return_s": layer.shortest_return,
        }
        for layer in schedule.layers
    ]
    times = {"after": schedule.total, "setting_up": schedule.setting_up}
    return {"layers": layers, "time_s": times, "heat": heat_figures(prediction)}


def heat_paragraphs(prediction: Prediction) -> list[str]:
    """The heat index in sentences; what was assumed is said."""
    from preprocess.marking.evenness.sentence import objective_sentence

    heat = prediction.heat
    if not heat.images:
        return ["No heat index: nothing is engraved on the part, or its pitch or speed is missing."]
    between = "" if heat.span is None else f" (between {heat.span[0]:.2f} and {heat.span[1]:.2f})"
    trust = f" {heat.trust[0].upper()}{heat.trust[1:]}." if heat.trust else ""
    summary = (
        f"Heat index: median {heat.median:.2f}, 95 % of the area below {heat.p95:.2f}, largest "
        f"{heat.largest:.2f}{between}.{trust}"
    )
    lines = [summary]
    if prediction.objective is not None:
        told = objective_sentence(prediction.objective, prediction.powers)
        lines.append(f"Evenness: {told}.")
    if heat.calibrated:
        lines.append(
            f"{100 * heat.too_weak:.1f} % of the area is below the window of "
            f"{digits(heat.window.weak)} to {digits(heat.window.heavy)}, "
            f"{100 * heat.too_heavy:.1f} % above. "
            "This is a prediction; a coupon decides."
        )
    if heat.assumed:
        lines.append(f"Assumed: {'; '.join(heat.assumed)}.")
    if heat.unknown:
        lines.append(f"Not computed: {', '.join(heat.unknown)}.")
    return lines
