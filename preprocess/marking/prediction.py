"""Prediction of a mark: plan, schedule and heat index of one artwork, with its findings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from preprocess.findings import note
from preprocess.marking.checks.profile_checks import profile_findings
from preprocess.marking.checks.scored_rows import scored_findings
from preprocess.marking.evenness.objective import evenness_objective, objective_pair
from preprocess.marking.evenness.sentence import objective_data, objective_sentence
from preprocess.marking.heat.contributors import ContributorSearch
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.heat_findings import coarser_words, heat_findings
from preprocess.marking.heat.index import heat_index_of_plan, with_span
from preprocess.marking.heat.layer_power import layer_powers
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.row_starts import row_start_findings
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.surface import surface_findings
from preprocess.marking.solver.hearing import overheard

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.findings import Finding
    from preprocess.marking.evenness.objective import Objective
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.place_remedies import RemedyTrials
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

    TrialsOf = Callable[["Prediction"], RemedyTrials]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """Rows, time and heat of an artwork as it would be written; nothing here was measured.

    `objective` says how even it is; None where nothing engraved lies on a part.
    """

    plan: Plan
    schedule: Schedule
    heat: HeatIndex
    findings: tuple[Finding, ...]
    objective: Objective | None = None

    @property
    def powers(self) -> tuple[float, ...]:
        """The power of each colour that is swept, a share, in marking order."""
        lit = {image.output for image in self.heat.images if image.lit.any()}
        return tuple(power for name, power in self.plan.powers.items() if name in lit)


def predict(
    artwork: Artwork,
    bench: Bench,
    *,
    effort: Effort = Effort.FULL,
    surely: bool = True,
    tell: Callable[[float], None] = overheard,
    trials: TrialsOf | None = None,
) -> Prediction:
    """Predict an artwork.

    Args:
        artwork: as it would be written, bars and levels included.
        bench: machine, filament and parts; defaults stand in for what is missing, and are named.
        effort: in full, bounded for a command that does something else, or for a quick look.
        tell: called with the share of the work that has been done since, as it goes on.
        surely: say between which values the largest index lies, at four more coarse runs.
        trials: makes what simulates remedies before findings tell them.
    """
    found = _without_objective(artwork, bench, effort, tell, surely=surely)
    found = _with_findings(found, artwork, bench, effort, trials)
    layers = _layers(found.plan)
    judged = evenness_objective(found.heat, time=found.schedule.total, layers=layers)
    return replace(found, objective=judged)


def _without_objective(
    artwork: Artwork, bench: Bench, effort: Effort, tell: Callable[[float], None], *, surely: bool
) -> Prediction:
    plan = plan_of(artwork, bench.machine_or_default)
    schedule = schedule_of(plan, bench.machine_or_default)
    heat = heat_index_of_plan(plan, schedule, artwork, bench, effort=effort, tell=tell)
    if surely:
        heat = with_span(heat, plan, schedule, artwork, bench)
    return Prediction(plan=plan, schedule=schedule, heat=heat, findings=())


def _with_findings(
    found: Prediction, artwork: Artwork, bench: Bench, effort: Effort, trials: TrialsOf | None
) -> Prediction:
    plan, schedule, heat = found.plan, found.schedule, found.heat
    neighbours = ContributorSearch(plan=plan, schedule=schedule, artwork=artwork, bench=bench)
    powers = layer_powers(heat, plan, schedule, artwork, bench, effort)
    findings = (
        *profile_findings(heat, plan, schedule, bench, powers),
        *heat_findings(heat, plan, schedule, powers, neighbours, trials(found) if trials else None),
        *scored_findings(heat, plan),
        *surface_findings(artwork, bench),
        *row_start_findings(plan, schedule),
    )
    return replace(found, findings=findings)


def _layers(plan: Plan) -> int:
    return len({step.output.id for step in plan.steps})


def predict_pair(
    before: Artwork,
    after: Artwork,
    bench: Bench,
    tell: Callable[[float], None] = overheard,
    trials: TrialsOf | None = None,
) -> tuple[Prediction, Prediction]:
    """Predict a drawing and its output within a bound, and say how where one was too large.

    `tell` is called with the share of the work that has been done since. The output has findings;
    `trials` makes what simulates their remedies.
    """

    def half(share: float) -> None:
        tell(share / 2)

    was, now = (
        _without_objective(artwork, bench, Effort.BOUNDED, half, surely=False)
        for artwork in (before, after)
    )
    now = _with_findings(now, after, bench, Effort.BOUNDED, trials)
    how = coarser_words(was.heat)
    if how and how != coarser_words(now.heat):
        message = f"the drawing as read is large, so its heat index is computed {how}"
        told = note("coarser-heat-before", message, "evenmark predict --report computes it in full")
        now = replace(now, findings=(*now.findings, told))
    one, other = objective_pair(
        was.heat,
        now.heat,
        times=(was.schedule.total, now.schedule.total),
        layers=(_layers(was.plan), _layers(now.plan)),
    )
    return replace(was, objective=one), replace(now, objective=other)


def evenness_sentence(now: Prediction, before: Prediction | None = None) -> str | None:
    """Predicted evenness of the mark, against the drawing as read; None without heat."""
    if now.objective is None:
        return None
    was = None if before is None else before.objective
    trust = f" ({now.heat.trust})" if now.heat.trust else ""
    return objective_sentence(now.objective, now.powers, before=was) + trust


def heat_figures(prediction: Prediction) -> dict[str, Any] | None:
    """The heat index in numbers, for a report; None where nothing was computed."""
    heat, even = prediction.heat, prediction.objective
    if not heat.images:
        return None
    return {
        "max": heat.largest,
        "max_between": None if heat.span is None else list(heat.span),
        "median": heat.median,
        "p95": heat.p95,
        "evenness": None if even is None else objective_data(even),
        "share_too_weak": heat.too_weak,
        "share_too_heavy": heat.too_heavy,
        "calibrated": heat.calibrated,
        "trust": heat.trust or None,
        "assumed": list(heat.assumed),
        "not_computed": list(heat.unknown),
    }
