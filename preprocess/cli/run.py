"""``evenmark run``: the main job, rewrites a design into a laser-ready SVG."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli.options import DESIGN, RECIPE, AsJson, Quiet, Strict

if TYPE_CHECKING:
    from preprocess.cli.files import Drawing
    from preprocess.pipeline import Conversion


def run(
    recipe: Annotated[str, RECIPE],
    design: Annotated[Optional[str], DESIGN] = None,  # noqa: UP045 - typer reads it at run time
    *,
    out: Annotated[
        str,
        typer.Option("--out", "-o", help="laser-ready SVG, or - for a pipe", show_default=False),
    ] = "",
    overlay: Annotated[str, typer.Option(help="SVG that shows what was changed")] = "",
    report: Annotated[str, typer.Option(help="all about the run, as JSON")] = "",
    depfile: Annotated[str, typer.Option(help="all that was read, as a Makefile rule")] = "",
    strict: Strict = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Rewrite a design as the recipe says."""
    from preprocess.cli import files, show
    from preprocess.errors import Exit

    loaded, drawing = files.load(recipe, design)
    target = out or drawing.beside("laser.svg")
    inputs = [*loaded.read_files, drawing.path]
    files.refuse_inputs([target, *filter(None, (overlay, report, depfile))], inputs)
    from preprocess.pipeline import convert
    from preprocess.pipeline import report as make_report

    result = convert(loaded, drawing.data, drawing.name, strict=strict)
    show.findings(result.findings, as_json=json, quiet=quiet)
    if result.data is None:
        raise typer.Exit(Exit.USER)
    written = [(target, result.data)]
    if overlay:
        written.append((overlay, _overlay(result, drawing)))
    if report:
        written.append((report, make_report(result, loaded, drawing.title)))
    if depfile:
        written.append((depfile, files.make_rule(target, inputs)))
    for path, data in written:
        files.write(path, data)
        show.wrote(path, as_json=json, quiet=quiet)


def _overlay(result: Conversion, drawing: Drawing) -> bytes:
    from preprocess.preview.overlay import overlay_svg

    return overlay_svg(
        result.before,
        result.after,
        machine=result.bench.machine,
        colours=result.colours,
        title=drawing.title,
    )
