"""What people are told of bars that were searched for: what they bring and cost, or what helps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.findings import Finding, note
from preprocess.marking.bar_time import gain_of
from preprocess.marking.plastic import UNCALIBRATED, plastic_of
from preprocess.marking.rows import row_spans
from preprocess.model.settings import Direction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.bar_search import Found, Trial
    from preprocess.marking.evenness import Evenness
    from preprocess.marking.plan import RasterGroup
    from preprocess.model.bench import Bench
    from preprocess.model.machine import Machine

RATIO = "the largest row median over the median of all rows"


def already(plain: Evenness, goal: float) -> Finding:
    """No bar is needed."""
    message = f"{RATIO} is {plain.rows:.3f} without bars, no more than {goal:.2f}: none was added"
    return note("even-without-bars", message)


def out_of_reach(found: Found, goal: float, groups: Sequence[RasterGroup]) -> Refusal:
    """No bars suffice: says how far they get, and what else helps."""
    two_way = any(group.settings.direction is Direction.TWO_WAY for group in groups)
    best = found.full.even.rows
    helps = (
        *(("mark one-way, since two-way rows come in pairs at their ends",) if two_way else ()),
        "cut levels with tag-power: {by: heat} before the bars and end with solve-power",
        f"ask for no less than {math.ceil(100 * (best - 1)):.0f} %",
    )
    return Refusal(
        f"bars cannot make rows even to within {100 * (goal - 1):.3g} %: {RATIO} is "
        f"{found.plain.rows:.3f} without bars and {best:.3f} with bars beside all rows",
        "; ".join(helps),
    )


def reached(found: Found, least: Trial, goal: float, bench: Bench) -> Finding:
    """Which bars suffice, what they bring and what they cost, beside bars for all rows."""
    rows = sum(len(row_spans(entry.group)) for entry in least.laid.barred)
    barred = sum(entry.rows for entry in least.laid.barred)
    which = "" if least.below is None else f", those narrower than {least.below:.4g} mm,"
    machine = bench.machine
    trust = "" if plastic_of(bench.filament, machine).calibrated else f" ({UNCALIBRATED})"
    message = (
        f"bars with a span of {least.span:.4g} mm beside {barred} of {rows} rows{which} suffice: "
        f"{RATIO} {found.plain.rows:.3f} → {least.even.rows:.3f}, wanted {goal:.2f}{trust}, of all "
        f"places {found.plain.places:.3f} → {least.even.places:.3f}; they take "
        f"{_costs(least, machine)}; bars beside all rows would reach {found.full.even.rows:.3f} "
        f"and take {_costs(found.full, machine)}{_why_wide(found, least)}"
    )
    return note("bars-suffice", message)


def _why_wide(found: Found, least: Trial) -> str:
    if least.span < found.full.span:
        return ""
    return "; a smaller span has room only where the part is narrow too"


def _costs(trial: Trial, machine: Machine | None) -> str:
    gains = [gain_of(entry, machine) for entry in trial.laid.barred]
    added = sum(gain.added for gain in gains if gain is not None)
    return f"{added:.3g} s and {trial.area:.1f} mm² of backing"
