"""Findings about the search for bars: their gain and cost, or other remedies."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.findings import Finding, note
from preprocess.marking.evenness.sentence import signed_percent
from preprocess.marking.job.rows import row_spans
from preprocess.marking.solver.thermal_medium import UNCALIBRATED, thermal_medium_of
from preprocess.model.artwork.settings import Direction
from preprocess.passes.equalize_width.row_gain import row_gain
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.equalize_width.search import BarSearch, BarTrial


def even_already(plain: EvennessFigures, goal: float) -> Finding:
    """Finding: rows are even without bars."""
    message = (
        f"no bars added: without them the worst place is predicted {_hot(plain)} over the median, "
        f"and until allows {_percent(goal)}"
    )
    return note("even-without-bars", message)


def out_of_reach(found: BarSearch, goal: float, groups: Sequence[RasterGroup]) -> Refusal:
    """Refusal: no bars suffice; gives the best evenness and other remedies."""
    two_way = any(group.settings.direction is Direction.TWO_WAY for group in groups)
    helps = (
        *(("mark one-way, since ends of two-way rows are marked in pairs",) if two_way else ()),
        "cut levels with tag-power: {by: heat} before the bars and end with solve-power",
        f"set evenness to {math.ceil(100 * (found.best.even.hot - 1)):.0f} % or more",
    )
    return Refusal(
        f"bars cannot make rows even to within {_percent(goal)}: the worst place is predicted "
        f"{_hot(found.plain)} over the median without bars, {_hot(found.best.even)} with the best",
        "; ".join(helps),
    )


def bars_suffice(found: BarSearch, least: BarTrial, goal: float, bench: Bench) -> Finding:
    """Finding: the bars that suffice, their gain and cost, compared with bars for all rows."""
    rows = sum(len(row_spans(entry.group)) for entry in least.laid.barred)
    barred = sum(entry.rows for entry in least.laid.barred)
    which = "" if least.below is None else f" (rows narrower than {digits(least.below, 4)} mm)"
    machine = bench.machine_or_default
    trust = "" if thermal_medium_of(bench.filament, machine).calibrated else f" ({UNCALIBRATED})"
    message = (
        f"bars with a span of {digits(least.span, 4)} mm beside {barred} of {rows} rows{which} "
        f"suffice: the worst place is predicted {_hot(found.plain)} over the median without bars, "
        f"{_hot(least.even)} with them{trust}; until allows {_percent(goal)}; the coldest is "
        f"{signed_percent(found.plain.cold)} → {signed_percent(least.even.cold)}; bars take "
        f"{_costs(least, machine)}; bars beside all rows reach {_hot(found.full.even)} and take "
        f"{_costs(found.full, machine)}{_why_wide(found, least)}"
    )
    return note("bars-suffice", message)


def _hot(even: EvennessFigures) -> str:
    return _percent(even.hot)


def _percent(factor: float) -> str:
    return f"{digits(100 * (factor - 1), 3)} %"


def _why_wide(found: BarSearch, least: BarTrial) -> str:
    if least.span < found.full.span:
        return ""
    return "; a smaller span has room only beside narrow places of the part"


def _costs(trial: BarTrial, machine: Machine) -> str:
    gains = [row_gain(entry, machine) for entry in trial.laid.barred]
    added = sum(gain.added for gain in gains if gain is not None)
    return f"{digits(added, 3)} s and {trial.area:.1f} mm² of backing"
