"""``evenmark coupon``: artwork of a test piece, and the grade table to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from preprocess.cli import files, show
from preprocess.cli.options import (
    AsJson,
    Quiet,
    RecipeArgument,
    option,
    parse_quantities,
    parse_size,
)
from preprocess.errors import Exit, Place, wrong
from preprocess.units import LENGTH, PITCH, SHARE, SPEED

if TYPE_CHECKING:
    from preprocess.recipe.load import LoadedRecipe

COUPON_KINDS = (
    "power-speed, pitch, row-span, together-apart, one-way-two-way, bar-distance, tip-width, "
    "sizes, spot-bleed, score-depth or field-scale"
)


def coupon(
    recipe: RecipeArgument,
    kind: Annotated[
        str,
        typer.Argument(metavar="KIND", help=f"what to measure: {COUPON_KINDS}", show_default=False),
    ],
    *,
    out: Annotated[str, option("laser-ready SVG; other files go beside it", "--out", "-o")] = "",
    plate: Annotated[str, option("plate size, such as 60x40mm; default: the recipe's part")] = "",
    room: Annotated[str, option("usable middle of the field, such as 70x70mm")] = "",
    powers: Annotated[str, option("such as 20%,30%,45%; default: around the known one")] = "",
    speeds: Annotated[str, option("such as 900mm/s; default: the known one")] = "",
    pitches: Annotated[str, option("such as 0.1mm; default: the known one")] = "",
    lengths: Annotated[
        str, option("what varies within a layer (spans, widths, gaps), such as 8mm,2mm")
    ] = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="overwrite a grade table that is filled in")
    ] = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Write a test piece to mark, with a grade table and a sheet to print.

    Only for plastic that you know. Start with the lowest power, extract and filter the fumes, stay
    with the machine. The machine's manual and local codes decide.
    """
    from preprocess.coupon.design.defaults import CouponOverrides

    if out == files.STREAM:
        raise typer.BadParameter("a coupon is four files; name its SVG", param_hint="--out")
    asked = CouponOverrides(
        powers=parse_quantities(powers, SHARE, "--powers"),
        speeds=parse_quantities(speeds, SPEED, "--speeds"),
        pitches=parse_quantities(pitches, PITCH, "--pitches"),
        lengths=parse_quantities(lengths, LENGTH, "--lengths"),
        room=parse_size(room, "--room") if room else None,
    )
    loaded = files.load_recipe_alone(recipe)
    target = Path(out or f"{kind}.svg")
    from preprocess.coupon.design.define import define
    from preprocess.coupon.paper.files import coupon_files, coupon_paths

    files.check_outputs([str(path) for path in coupon_paths(target)], loaded.read_files)
    size = parse_size(plate, "--plate") if plate else _plate_of(loaded, recipe)
    with files.refusal_as_error(recipe):
        definition = define(
            kind, loaded.bench, plate=size, settings=loaded.options.settings, asked=asked
        )
        made = coupon_files(definition, target, loaded.own_marks.anchors)
    show.print_findings(made.findings, as_json=json, quiet=quiet)
    if not made.data:
        raise typer.Exit(Exit.USER)
    if not replace:
        files.keep_grades(
            made.data, "name another coupon with -o, or lose its grades with --replace"
        )
    outputs = [(str(path), data) for path, data in made.data.items()]
    files.write_outputs(outputs, as_json=json, quiet=quiet)


def _plate_of(loaded: LoadedRecipe, recipe: str) -> tuple[float, float]:
    for part in loaded.options.parts:
        if isinstance(part.outline, tuple):
            return part.outline
    found = "the plate size is missing: no part of the recipe has width and height"
    raise wrong(found, "give it, such as --plate 60x40mm", place=Place(recipe))
