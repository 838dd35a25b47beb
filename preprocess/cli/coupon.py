"""``evenmark coupon``: artwork of a test piece, and the grade table to fill in."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from preprocess.cli.options import RECIPE, AsJson, Quiet

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.coupon.design.defaults import CouponOverrides
    from preprocess.coupon.design.model import CouponDefinition
    from preprocess.recipe.load import LoadedRecipe
    from preprocess.units import Quantity

KINDS = (
    "power-speed, pitch, row-span, together-apart, one-way-two-way, bar-distance, tip-width, "
    "sizes, spot-bleed, score-depth or field-scale"
)


def coupon(
    recipe: Annotated[str, RECIPE],
    kind: Annotated[
        str,
        typer.Argument(metavar="KIND", help=f"what to measure: {KINDS}", show_default=False),
    ],
    *,
    out: Annotated[
        str,
        typer.Option(
            "--out", "-o", help="laser-ready SVG; the others go beside it", show_default=False
        ),
    ] = "",
    plate: Annotated[
        str,
        typer.Option(
            help="size of the plate, such as 60x40mm; else the part of the recipe",
            show_default=False,
        ),
    ] = "",
    room: Annotated[
        str,
        typer.Option(
            help="part of the field around its middle that may be used, such as 70x70mm",
            show_default=False,
        ),
    ] = "",
    powers: Annotated[
        str, typer.Option(help="such as 20%,30%,45%; else around the known one", show_default=False)
    ] = "",
    speeds: Annotated[
        str, typer.Option(help="such as 900mm/s; else the known one", show_default=False)
    ] = "",
    pitches: Annotated[
        str, typer.Option(help="such as 0.1mm; else the known one", show_default=False)
    ] = "",
    lengths: Annotated[
        str,
        typer.Option(
            help="what varies within a layer (spans, widths, gaps), such as 8mm,2mm",
            show_default=False,
        ),
    ] = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="write over a grade table that is filled in")
    ] = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Write a test piece to mark, with a grade table and a sheet to print.

    Only for plastic that you know. Start with the lowest power, extract and filter the fumes, stay
    with the machine. The machine's manual and local codes decide.
    """
    from preprocess.cli import files, show
    from preprocess.coupon.design.defaults import CouponOverrides
    from preprocess.errors import Exit, Place, Refusal, wrong
    from preprocess.units import LENGTH, PITCH, SHARE, SPEED

    if out == files.STREAM:
        raise typer.BadParameter("a coupon is four files; name its SVG", param_hint="--out")
    asked = CouponOverrides(
        powers=_list(powers, SHARE, "--powers"),
        speeds=_list(speeds, SPEED, "--speeds"),
        pitches=_list(pitches, PITCH, "--pitches"),
        lengths=_list(lengths, LENGTH, "--lengths"),
        room=_size(room, "--room") if room else None,
    )
    loaded = files.load_recipe_alone(recipe)
    target = Path(out or f"{kind}.svg")
    from preprocess.coupon.paper.files import coupon_files, coupon_paths

    files.refuse_inputs([str(path) for path in coupon_paths(target)], loaded.read_files)
    size = _size(plate, "--plate") if plate else _plate_of(loaded, recipe)
    try:
        made = coupon_files(_defined(kind, loaded, size, asked), target)
    except Refusal as refusal:
        raise wrong(refusal.found, refusal.remedy, place=Place(recipe)) from refusal
    show.print_findings(made.findings, as_json=json, quiet=quiet)
    if not made.data:
        raise typer.Exit(Exit.USER)
    if not replace:
        _keep_grades(made.data)
    for path, data in made.data.items():
        files.write_output(str(path), data)
        show.tell_written(str(path), as_json=json, quiet=quiet)


def _keep_grades(written: Mapping[Path, bytes]) -> None:
    """Refuse to write over a table that says anything else: somebody's grades are in it."""
    from preprocess.cli import files
    from preprocess.coupon.paper.file_names import TABLE_SUFFIX
    from preprocess.errors import Place, wrong

    for path, data in written.items():
        if (
            path.name.endswith(TABLE_SUFFIX)
            and path.exists()
            and not files.holds_bytes(str(path), data)
        ):
            remedy = "name another coupon with -o, or say --replace to lose its grades"
            raise wrong("a grade table is there already", remedy, place=Place(str(path)))


def _defined(
    kind: str, loaded: LoadedRecipe, plate: tuple[float, float], asked: CouponOverrides
) -> CouponDefinition:
    from preprocess.coupon.design.define import define

    bench = loaded.bench
    settings = loaded.wanted.settings
    return define(kind, bench, plate=plate, settings=settings, asked=asked)


def _plate_of(loaded: LoadedRecipe, recipe: str) -> tuple[float, float]:
    from preprocess.errors import Place, wrong

    for part in loaded.wanted.parts:
        if isinstance(part.outline, tuple):
            return part.outline
    found = "the recipe gives no part by its width and height, so the plate is not known"
    raise wrong(found, "say how large the plate is, such as --plate 60x40mm", place=Place(recipe))


def _list(text: str, kind: Quantity, option: str) -> tuple[float, ...]:
    """Quantities between commas, all of one kind and above zero."""
    return tuple(_quantity(piece, kind, option) for piece in text.split(",")) if text else ()


def _size(text: str, option: str) -> tuple[float, float]:
    """Width and height: 60x40mm, 60 mm x 40 mm, 6 cm × 4 cm."""
    from preprocess.units import LENGTH

    pieces = [piece.strip() for piece in re.split(r"[x×]", text)]
    if len(pieces) != 2:  # noqa: PLR2004 - width and height
        raise typer.BadParameter("write width and height, such as 60x40mm", param_hint=option)
    first, second = pieces
    if re.fullmatch(r"[\d.]+", first):
        first += re.sub(r"^[\s\d.]+", "", second)
    return _quantity(first, LENGTH, option), _quantity(second, LENGTH, option)


def _quantity(text: str, kind: Quantity, option: str) -> float:
    from preprocess.units import UnitError

    try:
        value = kind.parse(text.strip())
    except UnitError as error:
        raise typer.BadParameter(str(error), param_hint=option) from error
    if value <= 0:
        raise typer.BadParameter(f"{text.strip()} is not above zero", param_hint=option)
    return value
