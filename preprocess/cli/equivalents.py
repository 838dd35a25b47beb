"""``evenmark equivalents``: which power goes with which speed along the even band."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from preprocess.cli import show
from preprocess.cli.options import AsJson, option, parse_quantities
from preprocess.units import SPEED, digits

if TYPE_CHECKING:
    from preprocess.calibrate.equivalents import EquivalentSetting, EquivalentSettings
    from preprocess.model.bench.filament import Filament


def equivalents(
    profile: Annotated[
        str, typer.Argument(metavar="PROFILE", help="filament's file (YAML)", show_default=False)
    ],
    *,
    speeds: Annotated[
        str, option("such as 600mm/s,900mm/s; default: around the reference patch's")
    ] = "",
    json: AsJson = False,
) -> None:
    """List speeds with the powers that mark evenly.

    It gives the span of the even band, and the time per cm².
    """
    from dataclasses import asdict

    from preprocess.calibrate.equivalents import equivalent_settings
    from preprocess.calibrate.grades.trials import read_profile
    from preprocess.loading.yaml.text_files import read_text

    if re.search(r"^recipe:", read_text(Path(profile)), re.MULTILINE):
        found_ = f"{profile} is a recipe; name the filament's profile, such as moss-petg.yaml"
        raise typer.BadParameter(found_)
    filament, trials = read_profile(Path(profile))
    machine = trials[-1].definition.machine if trials else None
    found = equivalent_settings(filament, machine, parse_quantities(speeds, SPEED, "--speeds"))
    if json:
        show.print_result("equivalents", {**asdict(found), "machine": filament.machine})
        return
    show.print_table(
        ("speed", "power", "even from", "to", "90 of 100 cases", "time per cm²"),
        [_row(one) for one in found.each],
    )
    for line in _lines(found, filament):
        show.print_paragraph(line)


def _row(one: EquivalentSetting) -> tuple[str, ...]:
    beyond = "" if one.graded else " *"
    between = (
        "-" if one.between is None else f"{_percent(one.between[0])} to {_percent(one.between[1])}"
    )
    return (
        f"{digits(one.speed)} mm/s{beyond}",
        _percent(one.even) if one.even <= 1 else "above 100 %",
        _percent(one.low),
        _percent(one.high),
        between,
        f"{one.seconds:.1f} s",
    )


def _percent(share: float) -> str:
    return f"{digits(100 * share, 3)} %"


def _lines(found: EquivalentSettings, filament: Filament) -> list[str]:
    between = found.exponent_between
    sure = "" if between is None else f" ({between[0]:.2f} to {between[1]:.2f} in 90 of 100 cases)"
    lines = []
    if len(found.each) > 1:
        lines.append(
            f"Along the band, power goes as speed to the power n = {found.exponent:.2f}{sure}."
        )
    if not all(one.graded for one in found.each):
        lines.append("* No cell was graded at this speed: there the band is a guess.")
    if filament.reference is None or filament.window is None:
        lines.append(
            "Uncalibrated: this filament has no graded reference patch, so these are the powers of "
            "a usual one. Mark and grade a coupon."
        )
    if found.machine is None:
        lines.append("The profile holds no trial, so the machine's times are assumed.")
    lines.append(
        "The even band was found by eye on coupons; these settings are not promised to be safe."
    )
    return lines
