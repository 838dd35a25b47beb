"""``evenmark frame``: a page to print that lies around a part in its photo."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Optional

import typer

from preprocess.cli import files
from preprocess.cli.jobs import is_drawing
from preprocess.cli.options import HTML, SVG, AsJson, Quiet, option, output, parse_size
from preprocess.errors import Place, wrong


class Paper(StrEnum):
    """Papers that a frame is laid out for."""

    A4 = "A4"
    LETTER = "Letter"
    A6 = "A6"


def frame(
    recipe: Annotated[
        Optional[str],
        typer.Argument(
            metavar="[RECIPE]",
            help="recipe (YAML) whose part the window is for; default: a plate of 60 × 40 mm",
            show_default=False,
        ),
    ] = None,
    *,
    out: Annotated[
        str, output("page to print (SVG or HTML)", "--out", "-o", endings=(SVG, *HTML))
    ] = "frame.html",
    part: Annotated[str, option("size of the part instead, such as 80x50mm")] = "",
    paper: Annotated[Paper, typer.Option(help="paper in the printer", case_sensitive=False)] = (
        Paper.A4
    ),
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Write a page on which a marked part is photographed.

    Print it at 100 %, check the line of 50 mm, and lay the part in its window. evenmark measure
    reads the photo.
    """
    from preprocess.photo.frame.layout import layout_for
    from preprocess.photo.frame.page import frame_html, frame_svg
    from preprocess.photo.frame.paper import paper_plan

    files.check_outputs([out], [Path(recipe)] if recipe else [])
    size = parse_size(part, "--part") if part else _size_of(recipe)
    layout = layout_for(size)
    with files.refusal_as_error(recipe or ""):
        plan = paper_plan(layout, str(paper))
    html = Path(out).suffix.lower() in HTML
    data = frame_html(layout, plan) if html else frame_svg(layout, plan).encode()
    files.write_outputs([(out, data)], as_json=json, quiet=quiet)


def _size_of(recipe: str | None) -> tuple[float, float]:
    """Width and height of the part of a recipe, mm."""
    if recipe is None:
        return 60.0, 40.0
    if is_drawing(recipe):
        raise typer.BadParameter(f"{recipe} is a drawing; name its recipe, or give --part")
    from preprocess.cli import jobs

    loaded = files.load_recipe_alone(recipe)
    for one in loaded.options.parts:
        if isinstance(one.outline, tuple):
            return one.outline
    job = jobs.open_job(recipe, None, (), quiet=True, columns=True)
    result = files.convert_drawing(job.loaded, job.drawing, quiet=True)
    if result.data is None or not result.after.parts:
        found = "the size of the part is not known"
        raise wrong(found, "give it, such as --part 60x40mm", place=Place(recipe))
    left, top, right, bottom = result.after.parts[0].bounds
    return right - left, bottom - top
