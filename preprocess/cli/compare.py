"""``evenmark compare``: the difference between two drawings, as a picture."""

from __future__ import annotations

from typing import Annotated

import typer

from preprocess.cli import files, show
from preprocess.cli.options import AsJson, Quiet


def compare(
    before: Annotated[str, typer.Argument(help="first drawing (SVG)", show_default=False)],
    after: Annotated[str, typer.Argument(help="second drawing (SVG)", show_default=False)],
    out: Annotated[
        str, typer.Option("--out", "-o", help="picture of the difference (SVG), or - for a pipe")
    ],
    *,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Draw the difference between two drawings."""
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.preview.overlay.overlay import compare_svg
    from preprocess.process_limits import limit_memory
    from preprocess.read.reader import read

    one, other = files.read_drawing(before), files.read_drawing(after)
    files.check_outputs([out], [one.path, other.path])
    options, title = ReadingOptions(), f"{one.title} and {other.title}"
    with limit_memory(options.limits.memory, title):
        readings = [read(drawing.data, drawing.name, options) for drawing in (one, other)]
        picture = compare_svg(readings[0].artwork, readings[1].artwork, title=title)
    findings = [finding for reading in readings for finding in reading.findings]
    show.print_findings(findings, as_json=json, quiet=quiet)
    files.write_outputs([(out, picture)], as_json=json, quiet=quiet)
