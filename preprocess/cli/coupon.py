"""``evenmark coupon``: artwork of a test piece, and the grade table to fill in."""

from __future__ import annotations

from dataclasses import replace as changed
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple, NoReturn, Optional

import typer

from preprocess.cli import files, jobs, show
from preprocess.cli.options import (
    AsJson,
    Changes,
    Quiet,
    Replace,
    Verbose,
    option,
    output,
    parse_quantities,
    parse_size,
)
from preprocess.errors import Exit, Place, UserError, wrong
from preprocess.units import LENGTH, PITCH, SHARE, SPEED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.coupon.design.defaults import CouponOverrides
    from preprocess.coupon.design.for_design import DesignUse
    from preprocess.coupon.paper.files import CouponFiles
    from preprocess.findings import Finding
    from preprocess.recipe.load import LoadedRecipe

COUPON_KINDS = (
    "power-speed, pitch, row-span, together-apart, one-way-two-way, bar-distance, tip-width, "
    "sizes, spot-bleed, score-depth, field-scale, rastered-interleaved, own-rows, repeats, "
    "first-row, grey-steps, focus-steps or blades"
)


def coupon(
    recipe: Annotated[
        Optional[str],
        typer.Argument(
            metavar="RECIPE", help="recipe (YAML), or - for standard input", show_default=False
        ),
    ] = None,
    kind: Annotated[
        Optional[str],
        typer.Argument(metavar="KIND", help=f"what to measure: {COUPON_KINDS}", show_default=False),
    ] = None,
    *,
    out: Annotated[str, output("laser-ready SVG; other files go beside it", "--out", "-o")] = "",
    plate: Annotated[str, option("plate size, such as 60x40mm; default: the recipe's part")] = "",
    room: Annotated[str, option("usable middle of the field, such as 70x70mm")] = "",
    powers: Annotated[str, option("such as 20%,30%,45%; default: around the known one")] = "",
    speeds: Annotated[str, option("such as 900mm/s; default: the known one")] = "",
    pitches: Annotated[str, option("such as 0.1mm; default: the known one")] = "",
    lengths: Annotated[
        str, option("what varies within a layer (spans, widths, gaps), such as 8mm,2mm")
    ] = "",
    crosses: Annotated[
        bool, typer.Option("--crosses", help="add small crosses, so that a photo finds its place")
    ] = False,
    depth: Annotated[
        bool,
        typer.Option("--depth", help="of blades: mark one at half the pitch, to learn the depth"),
    ] = False,
    for_design: Annotated[
        bool,
        typer.Option(
            "--for-design",
            help="compare what the recipe's drawing uses with the graded cells, and write a "
            "coupon for each gap; without KIND",
        ),
    ] = False,
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    replace: Replace = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write a test piece to mark and grade.

    With it come a grade table and a sheet to print, and the STL of the stair of focus-steps.

    Only for plastic that you know. Start with the lowest power, extract and filter the fumes, stay
    with the machine. The machine's manual and local codes decide.
    """
    from preprocess.coupon.design.defaults import CouponOverrides

    gaps = _gaps(recipe, kind, changes, quiet=quiet or json) if for_design else ()
    if for_design and not gaps:
        return
    recipe, kind = _named(recipe, str(gaps[0].kind) if gaps else kind)
    if out == files.STREAM:
        _refuse_stream(kind)
    asked = CouponOverrides(
        powers=parse_quantities(powers, SHARE, "--powers"),
        speeds=parse_quantities(speeds, SPEED, "--speeds"),
        pitches=parse_quantities(pitches, PITCH, "--pitches"),
        lengths=parse_quantities(lengths, LENGTH, "--lengths"),
        room=parse_size(room, "--room") if room else None,
        crosses=crosses,
        depth=depth,
    )
    loaded = files.load_recipe_alone(recipe, changes=changes)
    wanted = _wanted(kind, gaps, asked, out)
    from preprocess.coupon.paper.files import coupon_paths

    paths = [str(path) for one in wanted for path in coupon_paths(one.target, one.kind)]
    files.check_outputs(paths, loaded.read_files)
    size = parse_size(plate, "--plate") if plate else _plate_of(kind, loaded, recipe)
    outputs: list[tuple[str, bytes]] = []
    findings: list[Finding] = []
    refused = False
    for each in wanted:
        try:
            made = _made(each, loaded, recipe, size)
        except UserError as error:
            if len(wanted) == 1:
                raise
            told = (changed(one, found=f"{each.kind}: {one.found}") for one in error.complaints)
            show.print_complaints(UserError([*told]), as_json=json)
            refused = True
            continue
        findings += made.findings
        if not replace:
            files.keep_grades(
                made.data, "name another coupon with -o, or lose its grades with --replace"
            )
        refused = refused or not made.data
        outputs += [(str(path), data) for path, data in made.data.items()]
    show.print_findings(dict.fromkeys(findings), as_json=json, quiet=quiet, verbose=verbose)
    files.write_outputs(outputs, as_json=json, quiet=quiet)
    if refused:
        raise typer.Exit(Exit.USER)


def _refuse_stream(kind: str) -> NoReturn:
    from preprocess.coupon.paper.files import coupon_paths

    count = len(coupon_paths(Path("coupon.svg"), kind))
    raise typer.BadParameter(f"a coupon is {count} files; name its SVG", param_hint="--out")


class _WantedCoupon(NamedTuple):
    """One coupon to make, and its SVG."""

    kind: str
    asked: CouponOverrides
    target: Path


def _wanted(
    kind: str, gaps: Sequence[DesignUse], asked: CouponOverrides, out: str
) -> list[_WantedCoupon]:
    """The coupon of a kind, or one to each gap; the first has the name that was given."""
    from preprocess.coupon.design.defaults import over

    if asked.depth and kind != "blades":
        raise typer.BadParameter("only blades tell the depth", param_hint="--depth")
    if not gaps:
        return [_WantedCoupon(kind, asked, Path(out or f"{kind}.svg"))]
    named = Path(out)
    first, *others = gaps
    return [
        _WantedCoupon(str(first.kind), over(asked, first.asked), Path(out or f"{kind}.svg")),
        *(
            _WantedCoupon(
                str(gap.kind),
                over(asked, gap.asked),
                named.with_name(f"{named.stem}-{gap.kind}.svg") if out else Path(f"{gap.kind}.svg"),
            )
            for gap in others
        ),
    ]


def _made(
    wanted: _WantedCoupon, loaded: LoadedRecipe, recipe: str, plate: tuple[float, float]
) -> CouponFiles:
    from preprocess.coupon.design.define import define
    from preprocess.coupon.paper.files import coupon_files
    from preprocess.passes.interleave.interleave import Interleave

    settings = loaded.options.settings
    forms = (one.params.form for one in loaded.steps if isinstance(one.params, Interleave))
    asked = changed(wanted.asked, form=next(forms, None))
    with files.refusal_as_error(recipe):
        definition = define(wanted.kind, loaded.bench, plate=plate, settings=settings, asked=asked)
        return coupon_files(definition, wanted.target, loaded.own_marks.anchors)


def _gaps(
    recipe: str | None, kind: str | None, changes: Sequence[str], *, quiet: bool
) -> tuple[DesignUse, ...]:
    """Tell the uses of the design beside what was graded; returns those that lack grades."""
    from preprocess.coupon.design.for_design import design_uses
    from preprocess.marking.job.plan import plan_of
    from preprocess.marking.job.schedule import schedule_of

    if kind is not None:
        raise typer.BadParameter("--for-design chooses the kind itself; leave it out")
    job = jobs.open_job(recipe, None, changes, quiet=quiet)
    result = files.convert_drawing(job.loaded, job.drawing)
    if result.data is None:
        show.print_findings(result.findings, quiet=True)
        raise typer.Exit(Exit.USER)
    machine = result.bench.machine_or_default
    plan = plan_of(result.after, machine)
    uses = design_uses(plan, schedule_of(plan, machine), result.bench.filament)
    if not quiet:
        rows = [(one.what, one.used, one.graded, str(one.kind or "-")) for one in uses]
        show.print_table(("", "this design", "graded", "coupon"), rows)
    gaps = tuple(one for one in uses if one.kind is not None)
    if not (gaps or quiet):
        show.print_paragraph("All that this design uses was graded: no coupon is needed.")
    return gaps


def _named(recipe: str | None, kind: str | None) -> tuple[str, str]:
    """Recipe and kind, or what is missing of them.

    Raises:
        BadParameter: one of them is missing, or there is no such kind.
    """
    from preprocess.coupon.design.model import CouponKind
    from preprocess.loading.schema.value_complaints import nearest_word

    kinds = [str(one) for one in CouponKind]
    if recipe in kinds:
        raise typer.BadParameter(f"name the recipe first: evenmark coupon RECIPE {recipe}")
    if recipe is not None and jobs.is_drawing(recipe):
        raise typer.BadParameter(f"{recipe} is a drawing; a coupon needs a recipe, for its bench")
    if recipe is None or kind is None:
        missing = "a recipe and a kind" if recipe is None else f"a kind behind {recipe}"
        raise typer.BadParameter(f"name {missing}, such as {kinds[0]}; all: {', '.join(kinds)}")
    if kind not in kinds:
        remedy = nearest_word(kind, kinds, "kinds:")
        raise wrong(f"there is no coupon of kind {kind!r}", remedy, place=Place(recipe))
    return recipe, kind


def _plate_of(kind: str, loaded: LoadedRecipe, recipe: str) -> tuple[float, float]:
    from preprocess.coupon.design.focus_stair import STAIR_PLATE
    from preprocess.coupon.design.model import CouponKind

    if kind == CouponKind.FOCUS_STEPS:
        return STAIR_PLATE
    for part in loaded.options.parts:
        if isinstance(part.outline, tuple):
            return part.outline
    found = "the plate size is missing: no part of the recipe has width and height"
    raise wrong(found, "give it, such as --plate 60x40mm", place=Place(recipe))
