"""``evenmark fit``: grades to a filament's profile, with how sure it is and what to mark next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, List, Optional

import typer

from preprocess.cli import files, show, waiting
from preprocess.cli.jobs import is_drawing
from preprocess.cli.options import YAML, AsJson, Quiet, Verbose, expect_day, option, output
from preprocess.errors import Exit, wrong
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.next_coupon.proposal import Proposal
    from preprocess.model.bench.filament import Filament
    from preprocess.model.bench.machine import Grey

_ODD = 2.0
"""Misfit of pairs beyond which they do not lie on one curve."""


def fit(
    grades: Annotated[
        Optional[List[str]],
        typer.Argument(
            metavar="GRADES...",
            help="grade tables (CSV), each beside its .coupon.yaml; with --compare two profiles",
            show_default=False,
        ),
    ] = None,
    *,
    out: Annotated[
        str,
        output(
            "filament's file (YAML); trials are added to those in it",
            "--out",
            "-o",
            endings=YAML,
            metavar="PROFILE",
        ),
    ] = "",
    graded: Annotated[str, option("day of the grading, such as 2026-11-20")] = "",
    name: Annotated[str, option("name of this spool")] = "",
    plot: Annotated[str, output("plot of the even band, with the grades (SVG)")] = "",
    next_: Annotated[
        str, output("coupon to mark next (SVG); its other files go beside it", "--next")
    ] = "",
    compare: Annotated[bool, typer.Option("--compare", help="compare two profiles")] = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Learn a filament from graded coupons.

    It finds which power marks evenly, and how sure that is. From a grey-steps coupon it learns the
    greys of the machine: -o names the machine file then. From a focus-steps coupon it tells what
    is in focus.

    What is fitted is what marked evenly to the eye. It never says that a setting is safe.
    """
    tables = grades or []
    if drawings := [one for one in tables if is_drawing(one)]:
        raise typer.BadParameter(f"{drawings[0]} is a drawing; name grade tables (CSV)")
    if compare:
        if len(tables) != 2 or out:  # noqa: PLR2004 - one and the other
            raise typer.BadParameter("name two profiles and no output", param_hint="--compare")
        _compare(tables[0], tables[1], as_json=json)
        return
    if greys := [one for one in tables if Path(one).is_file() and _of_greys(one)]:
        if len(greys) < len(tables) or graded or name or plot or next_:
            found = "a table of grey-steps tells of the machine, not of a filament"
            raise wrong(found, "fit it by itself: evenmark fit TABLE -o MACHINE.yaml")
        _fit_greys(tables, out, as_json=json, quiet=quiet)
        return
    if any(Path(one).is_file() and _of_focus(one) for one in tables):
        if len(tables) > 1 or out or graded or name or plot or next_:
            found = "a table of focus-steps tells of the focus, not of a filament"
            raise wrong(found, "fit it by itself, without -o: evenmark fit TABLE")
        _tell_focus(tables[0], as_json=json, quiet=quiet)
        return
    expect_day(graded, "--graded", such_as="2026-11-20")
    if not tables and not out:
        typed = "evenmark fit first.grades.csv -o moss.yaml"
        remedy = f"evenmark coupon writes one to fill in; then type: {typed}"
        raise wrong("no grade table is named", remedy)
    if not out:
        raise wrong("no profile is named", "name one, such as -o moss-petg.yaml")
    how = {"as_json": json, "quiet": quiet, "verbose": verbose}
    _fit(tables, Path(out), graded or None, name, (plot, next_), **how)


def _of_greys(table: str) -> bool:
    from preprocess.calibrate.greys.grey_pairs import is_grey_table

    return is_grey_table(Path(table))


def _of_focus(table: str) -> bool:
    from preprocess.calibrate.focus.focus_band import is_focus_table

    return is_focus_table(Path(table))


def _tell_focus(table: str, *, as_json: bool, quiet: bool) -> None:
    """The band of sharp steps, and what to write into the recipe."""
    from preprocess.calibrate.focus.focus_band import band_sentences, read_focus_band

    band = read_focus_band(Path(table))
    if as_json:
        data = {"from": band.low, "to": band.high, "in_focus": band.in_focus}
        show.print_result("focus", data)
    elif not quiet:
        show.print_paragraph(" ".join(band_sentences(band)))


def _fit_greys(tables: Sequence[str], out: str, *, as_json: bool, quiet: bool) -> None:
    """The curve of the greys, from pairs into the machine file."""
    from preprocess.calibrate.greys.curve_fit import fit_curve
    from preprocess.calibrate.greys.grey_pairs import read_pairs
    from preprocess.calibrate.greys.machine_text import read_machine, with_grey

    if not out:
        raise wrong("no machine file is named", "name it, such as -o bench.yaml")
    target = Path(out)
    files.check_outputs([out], [Path(table) for table in tables])
    text, machine = read_machine(target)
    held = machine.grey.resolution if machine and machine.grey else None
    pairs = [pair for table in tables for pair in read_pairs(Path(table))]
    by_photo = sum(pair.by_photo for pair in pairs)
    found = fit_curve(pairs, held)
    grey, sure = found.grey, found.grey.intervals
    if as_json:
        data = {"grey": curve_data(grey), "pairs": found.pairs, "by_photo": by_photo}
        show.print_result("greys", data)
    elif not quiet and sure is not None:
        rows = [
            ("from", _percent(grey.from_), _range(sure.from_)),
            ("to", _percent(grey.to), _range(sure.to)),
            ("gamma", digits(grey.gamma), _range(sure.gamma, share=False)),
        ]
        show.print_table(("", "value", "90 of 100 cases"), rows)
        if by_photo:
            show.print_paragraph(f"Photos told {by_photo} of the {len(pairs)} pairs.")
        if found.misfit > _ODD:
            show.print_paragraph(
                "The pairs do not lie on one curve: look again at those that differ most, or the "
                "software dithers or has a contrast of its own."
            )
    files.write_outputs([(out, with_grey(text, grey).encode())], as_json=as_json, quiet=quiet)


def _percent(share: float) -> str:
    return f"{digits(100 * share)} %"


def _range(ends: tuple[float, float] | None, *, share: bool = True) -> str:
    if ends is None:
        return "-"
    low, high = ends
    return (
        f"{digits(100 * low)} to {digits(100 * high)} %"
        if share
        else f"{digits(low)} to {digits(high)}"
    )


def curve_data(grey: Grey) -> dict[str, object]:
    """A curve of greys, for scripts."""
    from preprocess.loading.schema.plain_data import plain_data

    return plain_data(grey)


def _fit(
    tables: Sequence[str],
    out: Path,
    graded: str | None,
    name: str,
    pictures: tuple[str, str],
    *,
    as_json: bool,
    quiet: bool,
    verbose: bool,
) -> None:
    from dataclasses import replace

    from preprocess.calibrate.fit.diagnostics import diagnose
    from preprocess.calibrate.fit.fit import fit_filament
    from preprocess.calibrate.fit.profile import fitted_profile, profile_bytes
    from preprocess.calibrate.grades.trials import collect_trials
    from preprocess.calibrate.next_coupon.proposal import propose_coupon
    from preprocess.coupon.paper.files import coupon_paths

    plot, following = pictures
    read = [Path(table) for table in tables]
    coupon = [str(path) for path in coupon_paths(Path(following))] if following else []
    files.check_outputs([str(out), plot, *coupon], read)
    known, trials, notes = collect_trials(read, out, graded)
    with waiting.progress_bar(3, "fit", quiet=quiet or as_json) as advance:
        found = fit_filament(trials, known)
        if name:
            found = replace(found, known=replace(found.known, name=name))
        advance()
        profile = fitted_profile(found)
        advance()
        offer = propose_coupon(found) if following or as_json or not quiet else None
    how = {"as_json": as_json, "quiet": quiet, "verbose": verbose}
    show.print_findings((*notes, *diagnose(found)), **how)
    if offer and as_json:
        show.print_result("fit", fit_data(found, profile, offer))
    elif offer and not quiet:
        _tell(found, profile, offer)
    written = {str(out): profile_bytes(profile, trials)}
    if plot:
        from preprocess.calibrate.report.plot import even_band_svg

        written[plot] = even_band_svg(found, profile)
    if offer and following:
        written |= _next(found, offer, Path(following), how)
    files.write_outputs([*written.items()], as_json=as_json, quiet=quiet)


def _next(
    fit: FilamentFit, offer: Proposal, target: Path, how: dict[str, bool]
) -> dict[str, bytes]:
    from preprocess.calibrate.next_coupon.proposal import proposed_definition
    from preprocess.coupon.paper.files import coupon_files

    with files.refusal_as_error():
        made = coupon_files(proposed_definition(fit, offer), target)
    show.print_findings(made.findings, **how)
    if not made.data:
        raise typer.Exit(Exit.USER)
    files.keep_grades(made.data, "name another coupon with --next")
    return {str(path): data for path, data in made.data.items()}


def _tell(fit: FilamentFit, profile: Filament, offer: Proposal) -> None:
    from preprocess.calibrate.report.texts import (
        fit_summary,
        parameter_rows,
        proposal_text,
        tones_sentence,
    )

    show.print_paragraph(fit_summary(fit, profile))
    if measured := tones_sentence(fit):
        show.print_paragraph(measured)
    show.print_table(("", "value", "90 of 100 cases"), parameter_rows(profile))
    show.print_paragraph(proposal_text(offer))
    show.print_table(
        ("next", "power", "speed"),
        [
            (chr(ord("A") + n), f"{digits(100 * (s.power or 0))} %", f"{digits(s.speed or 0)} mm/s")
            for n, s in enumerate(offer.asked.layers)
        ],
    )
    show.print_paragraph(
        "These are predictions from grades. They never say that a setting is safe: extract and "
        "filter, stay with the machine; its manual and local codes decide."
    )


def fit_data(fit: FilamentFit, profile: Filament, offer: Proposal) -> dict[str, object]:
    """Figures of a fit, for scripts."""
    from dataclasses import replace

    from preprocess.loading.schema.plain_data import plain_data

    return {
        "profile": plain_data(replace(profile, trials=())),
        "cells": fit.observations.cells,
        "grades": fit.observations.counts,
        "next_kind": str(offer.kind),
        "next": [{"power": s.power, "speed": s.speed} for s in offer.asked.layers],
        "next_lengths": list(offer.asked.lengths),
    }


def _compare(first: str, second: str, *, as_json: bool) -> None:
    from preprocess.calibrate.grades.trials import read_profile
    from preprocess.calibrate.report.texts import compare_profiles

    one, other = read_profile(Path(first))[0], read_profile(Path(second))[0]
    rows, remarks = compare_profiles(one, other)
    if as_json:
        show.print_result(
            "compared", {"rows": [list(row) for row in rows], "remarks": list(remarks)}
        )
        return
    show.print_table(("", one.name, other.name, ""), rows)
    for remark in remarks:
        show.print_paragraph(remark)
