"""``evenmark compare``: the difference between two drawings, as a picture."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from preprocess.cli import files, show, waiting
from preprocess.cli.options import AsJson, Quiet, Verbose, output


def compare(
    before: Annotated[
        Optional[str],
        typer.Argument(metavar="BEFORE", help="first drawing (SVG)", show_default=False),
    ] = None,
    after: Annotated[
        Optional[str],
        typer.Argument(metavar="AFTER", help="second drawing (SVG)", show_default=False),
    ] = None,
    out: Annotated[
        str,
        output("picture (SVG), or - for a pipe; default: AFTER.difference.svg", "--out", "-o"),
    ] = "",
    *,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Draw what differs between two drawings."""
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.preview.overlay.overlay import compare_svg
    from preprocess.process_limits import limit_memory
    from preprocess.read.reader import read

    if before is None or after is None:
        raise typer.BadParameter("name two drawings, such as before.svg after.svg")
    one, other = files.read_drawing(before), files.read_drawing(after)
    target = out or other.beside("difference.svg")
    files.check_outputs([target], [one.path, other.path])
    options, title = ReadingOptions(), f"{one.title} and {other.title}"
    readings = []
    bar = waiting.progress_bar(3, "drawings", quiet=quiet or json)
    with bar as advance, limit_memory(options.limits.memory, title):
        for drawing in (one, other):
            readings.append(read(drawing.data, drawing.name, options))
            advance()
        picture = compare_svg(readings[0].artwork, readings[1].artwork, title=title)
    findings = [finding for reading in readings for finding in reading.findings]
    show.print_findings(findings, as_json=json, quiet=quiet, verbose=verbose)
    files.write_outputs([(target, picture)], as_json=json, quiet=quiet)
