"""``evenmark compare``: what is different between two drawings, as a picture."""

from __future__ import annotations

from typing import Annotated

import typer

from preprocess.cli.options import AsJson, Quiet


def compare(
    before: Annotated[str, typer.Argument(help="a drawing (SVG)", show_default=False)],
    after: Annotated[str, typer.Argument(help="another drawing (SVG)", show_default=False)],
    out: Annotated[
        str, typer.Option("--out", "-o", help="SVG that shows the difference, or - for a pipe")
    ],
    *,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Draw what is different between two drawings."""
    from preprocess.cli import files, show
    from preprocess.model.options.reading import Wanted
    from preprocess.preview.overlay.overlay import compare_svg
    from preprocess.read.reader import read

    one, other = files.read_drawing(before), files.read_drawing(after)
    files.refuse_inputs([out], [one.path, other.path])
    readings = [read(drawing.data, drawing.name, Wanted()) for drawing in (one, other)]
    findings = [finding for reading in readings for finding in reading.findings]
    show.print_findings(findings, as_json=json, quiet=quiet)
    title = f"{one.name} and {other.name}"
    files.write_output(out, compare_svg(readings[0].artwork, readings[1].artwork, title=title))
    show.tell_written(out, as_json=json, quiet=quiet)
