"""A recipe that solves its powers, solved anew at the spread that the marked part shows.

Zones are cut anew, rounds get other powers, and greys move cell by cell.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.causes.marked_places import marked
from preprocess.correction.learned_spread import TRIED, LearnedSpread, learned_spread
from preprocess.correction.measured_heat import measured_heat, tone_slope
from preprocess.correction.moves import LEAST, MOST, WORTH
from preprocess.errors import Refusal
from preprocess.findings import Finding, warn
from preprocess.marking.machine.grey_curve import grey_powers
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.grey import WHITE
from preprocess.model.artwork.output import output_layers
from preprocess.photo.map_grid import MapGrid, index_map
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.causes.found import Causes
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.bench import Bench
    from preprocess.photo.measured import MeasuredJob

_WAYS = 1.0, 0.5, 0.25
"""How far from the believed spread to the shown one, in logarithms: the first that is allowed."""

_RARE = 0.005
"""Share of the places that may move by more than one correction allows."""


class Hardly(Refusal):
    """Another spread would hardly make the part more even."""


AtSpread = Callable[[float, tuple[float, float]], "Artwork"]

PowerRange = tuple[float, float]
"""Least and most power of a colour layer, shares; they differ where greys set it cell by cell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedAnew:
    """The same recipe at another spread.

    `spread` is that of the next recipe, and `interval` holds it in 90 of 100 cases, mm. `was` and
    `now` are powers by colour layer. `before` and `after` are heat's unevenness, rms ΔL*; `after`
    is predicted.
    """

    causes: Causes
    learned: LearnedSpread
    spread: float
    interval: tuple[float, float]
    was: Mapping[str, PowerRange]
    now: Mapping[str, PowerRange]
    before: float
    after: float
    findings: tuple[Finding, ...]


def solved_anew(
    job: MeasuredJob,
    artwork: Artwork,
    bench: Bench,
    at_spread: AtSpread,
    trials: Sequence[CouponTrial] = (),
) -> SolvedAnew:
    """Learn the spread from a marked part, and solve its recipe anew.

    Args:
        job: the measured map.
        artwork: as it was marked.
        bench: machine and filament of the recipe.
        at_spread: carries the recipe out for another spread of the filament and the interval that
            holds it (mm).
        trials: coupons of the filament, of which measured ones tell the slope of the tone.

    Raises:
        Refusal: heat is no cause, or the spread asks for more than one correction allows.
        Hardly: another spread would hardly make the part more even.
    """
    causes, slope, findings = measured_heat(job, bench, trials)
    here = marked(job)
    grid = MapGrid(origin=job.origin, step=job.step, shape=here.shape)

    def log_index(of: Artwork, spread: float) -> Floats:
        found, _ = index_map(of, bench, grid, spread=spread)
        return np.log(np.where(found > 0, found, np.nan))[here]

    believed = thermal_medium_of(bench.filament, bench.machine_or_default).spread
    logs = {believed * factor: log_index(artwork, believed * factor) for factor in TRIED}
    heat = causes.heat[here]
    known = np.all([np.isfinite(log) for log in logs.values()], axis=0)
    learned = learned_spread(
        heat[known],
        {spread: log[known] for spread, log in logs.items()},
        believed,
        tone_slope(job, slope, findings),
        float(known.sum()) * job.step**2,
    )
    was, before = _powers(artwork, bench), float(np.std(heat))
    marked_log = log_index(artwork, learned.shown)
    for way in _WAYS:
        spread = float(f"{believed * (learned.shown / believed) ** way:.3g}")
        new = at_spread(spread, learned.interval(spread))
        moved = log_index(new, learned.shown) - marked_log
        now = _powers(new, bench)
        if _allowed(moved, was, now, bench):
            break
    else:
        raise Refusal(
            f"a spread of {digits(learned.shown, 2)} mm, which the part shows, asks for more than "
            f"one correction allows: light moves by {digits(LEAST)} to {digits(MOST)}, and powers "
            "stay within those of graded cells",
            "grade cells at such powers, or fit a measured blades coupon of this spool",
        )
    after = heat + learned.slope * np.nan_to_num(moved - np.nanmean(moved))
    if np.std(after) > (1 - WORTH) * before:
        raise Hardly(
            f"solving anew hardly evens this out: the part shows a spread of "
            f"{digits(learned.shown, 2)} mm, where {digits(believed, 2)} mm was believed, and heat "
            f"would go from {before:.1f} to {np.std(after):.1f} ΔL*",
            "take several rounds, or several images of greys, which heat reaches more evenly",
        )
    if way < 1:
        findings = [*findings, _bounded(learned, spread)]
    return SolvedAnew(
        causes=causes,
        learned=learned,
        spread=spread,
        interval=learned.interval(spread),
        was=was,
        now=now,
        before=before,
        after=float(np.std(after)),
        findings=tuple(findings),
    )


def _allowed(
    moved: Floats, was: Mapping[str, PowerRange], now: Mapping[str, PowerRange], bench: Bench
) -> bool:
    """Test whether light moves by no more than one correction may, within the tried powers."""
    low, high = np.nanquantile(moved, [_RARE, 1 - _RARE])
    if low < np.log(LEAST) or high > np.log(MOST):
        return False
    tried = bench.filament.tried if bench.filament else None
    if tried is None or tried.power is None:
        return True
    least = min(tried.power[0], *(low for low, _ in was.values()))
    most = max(tried.power[1], *(high for _, high in was.values()))
    return all(least <= low and high <= most for low, high in now.values())


def _bounded(learned: LearnedSpread, spread: float) -> Finding:
    return warn(
        "correction-bounded",
        f"the part shows a spread of {digits(learned.shown, 2)} mm, and this round goes to "
        f"{digits(spread)} mm: one round moves light by {digits(LEAST)} to {digits(MOST)} at most, "
        "and powers stay within those of graded cells",
        "mark the next part, measure it, and correct once more",
    )


def _powers(artwork: Artwork, bench: Bench) -> dict[str, PowerRange]:
    """Least and most power of each engraved colour layer."""
    engraved = [
        output
        for output in output_layers(artwork)
        if output.in_rounds or any(shape.is_engraved_area for shape in output.shapes)
    ]
    return {output.id: _range(output, bench) for output in engraved}


def _range(output: OutputLayer, bench: Bench) -> PowerRange:
    power, curve = output.settings.power or 1.0, bench.machine_or_default.grey
    greys = np.frombuffer(b"".join(s.grey.greys for s in output.shapes if s.grey), np.uint8)
    lit = greys[greys != WHITE]
    if curve is None or not len(lit):
        return power, power
    powers = grey_powers(curve)
    return float(powers[lit.max()]), float(powers[lit.min()])
