"""Arguments and options that several commands share, and quantities given as options."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Any, List, Optional

import typer

from preprocess.cli import session
from preprocess.errors import Place, wrong
from preprocess.units import LENGTH, Quantity, UnitError

SVG = ".svg"
YAML = ".yaml", ".yml"
JSON = ".json"
HTML = ".html", ".htm"
STL = ".stl"

ENDINGS = {
    "overlay": "overlay.svg",
    "sheet": "sheet.html",
    "report": "report.json",
    "page": "playback.html",
}
"""Products beside the laser-ready SVG, and how their usual names end."""


def option(text: str, *names: str, **more: Any) -> Any:
    """An option with its help text; its default is not shown."""
    return typer.Option(*names, help=text, show_default=False, **more)


def output(text: str, *names: str, endings: str | tuple[str, ...] = SVG, **more: Any) -> Any:
    """An option that names a file to write; its ending is checked before any work."""
    allowed = (endings,) if isinstance(endings, str) else endings

    def checked(value: str) -> str:
        if value == "-":
            session.take_standard_output()
        elif value and not _may_end_so(value, allowed):
            ending = Path(value).suffix
            found = f"this file is to be {_kind(allowed[0])}, but its name ends in {ending!r}"
            remedy = f"call it {Path(value).with_suffix(allowed[0])}"
            raise wrong(found, remedy, place=Place(value))
        return value

    return option(text, *names, callback=checked, **{"metavar": "FILE", **more})


def _may_end_so(name: str, endings: tuple[str, ...]) -> bool:
    """Names without an ending may be devices and pipes."""
    return Path(name).suffix.lower() in {"", *endings}


def _kind(ending: str) -> str:
    kinds = {SVG: "an SVG drawing", JSON: "JSON", YAML[0]: "YAML", HTML[0]: "a web page (HTML)"}
    kinds[STL] = "a mesh to print (STL)"
    return kinds[ending]


def _products(value: str) -> str:
    parse_products(value)
    return value


def parse_products(text: str) -> frozenset[str]:
    """The products that `--also` names, between commas.

    Raises:
        BadParameter: one of them is none of ours.
    """
    named = frozenset(filter(None, (piece.strip() for piece in text.split(","))))
    for name in sorted(named - set(ENDINGS)):
        found = f"{name} is none of {', '.join(ENDINGS)}"
        raise typer.BadParameter(found, param_hint="--also")
    return named


def expect_heat(page: object, *, no_heat: bool) -> None:
    """Refuse a page without heat: it plays nothing else.

    Raises:
        BadParameter: both are asked for.
    """
    if page and no_heat:
        found = "the page plays heat back; leave out --no-heat"
        raise typer.BadParameter(found, param_hint="--page")


RecipeArgument = Annotated[
    Optional[str],
    typer.Argument(
        metavar="RECIPE",
        help="recipe (YAML), or a drawing (SVG) to measure one from; - for standard input",
        show_default=False,
    ),
]
DesignArgument = Annotated[
    Optional[str],
    typer.Argument(
        metavar="[DESIGN]",
        help="drawing (SVG), or - for standard input; default: the one in the recipe",
        show_default=False,
    ),
]
Changes = Annotated[
    List[str],
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="another value for the recipe, such as settings.engrave.power=50%; may be repeated",
        show_default=False,
    ),
]
Also = Annotated[
    str,
    option(
        "write these as well, under their usual names: overlay, sheet, report, page",
        "--also",
        metavar="WHAT,...",
        callback=_products,
    ),
]
Strict = Annotated[bool, typer.Option("--strict", help="treat warnings as errors")]
Quiet = Annotated[
    bool, typer.Option("--quiet", "-q", help="print warnings only, and the card under bars")
]
Verbose = Annotated[bool, typer.Option("--verbose", "-v", help="print all findings in full")]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="print findings and results as JSON lines, on standard output"),
]
NoHeat = Annotated[bool, typer.Option("--no-heat", help="predict no heat, and solve no powers")]
Replace = Annotated[bool, typer.Option("--replace", help="write again what is there already")]


def parse_quantity(text: str, kind: Quantity, name: str, *, positive: bool = True) -> float:
    """The value of an option with a unit, in base units.

    Raises:
        BadParameter: it is no such quantity, below zero, or zero where it must be positive.
    """
    try:
        value = kind.parse(text.strip())
    except UnitError as error:
        raise typer.BadParameter(str(error), param_hint=name) from error
    if value < 0 or (positive and value == 0):
        least = "above zero" if positive else "zero or more"
        raise typer.BadParameter(f"{text.strip()} is not {least}", param_hint=name)
    return value


def parse_quantities(text: str, kind: Quantity, name: str) -> tuple[float, ...]:
    """Positive quantities between commas; none in an empty text."""
    return tuple(parse_quantity(piece, kind, name) for piece in text.split(",")) if text else ()


def expect_day(text: str, name: str, *, such_as: str) -> None:
    """Refuse a day that is not written as year, month and day; an empty text passes.

    Raises:
        BadParameter: it is written otherwise.
    """
    if text and not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise typer.BadParameter(f"write year, month, day, such as {such_as}", param_hint=name)


def parse_size(text: str, name: str) -> tuple[float, float]:
    """Width and height in mm: 60x40mm, 60 mm x 40 mm, 6 cm × 4 cm."""
    pieces = [piece.strip() for piece in re.split(r"[x×]", text)]
    if len(pieces) != 2:  # noqa: PLR2004 - width and height
        raise typer.BadParameter("write width and height, such as 60x40mm", param_hint=name)
    first, second = pieces
    if re.fullmatch(r"[\d.]+", first):
        first += re.sub(r"^[\s\d.]+", "", second)
    return parse_quantity(first, LENGTH, name), parse_quantity(second, LENGTH, name)
