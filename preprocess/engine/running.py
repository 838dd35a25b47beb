"""One step of a recipe, run and held to what it declared; on trays whose labels differ, by seats.

Until a pass lays labels out on a tray, each seat has an artwork of its own, and every pass runs on
each of them. The ledger that is told is that of the first seat, but each seat is held to its own;
from the tray on there is one artwork.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from preprocess.engine.contract import Outcome
from preprocess.engine.facts import facts_of
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal, wrong

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.engine.contract import Params
    from preprocess.engine.facts import Fact
    from preprocess.engine.step import Step
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

Seats = dict[int, "Artwork"]
"""Artwork by number of the seat, from 1; empty where all labels are alike, or are laid out."""


class BrokenPromise(RuntimeError):  # noqa: N818 - says what it is
    """A pass or the writer did not do what it declared: our bug, never the user's."""


@runtime_checkable
class LaysOut(Protocol):
    """A pass that can lay different labels out on a tray."""

    copies: tuple[int, int] | None

    def lay_out(self, seats: Mapping[int, Artwork], bench: Bench, /) -> Outcome:
        """One artwork of all seats; its changes are counted from that of the first one."""
        ...


def seats_of_tray(params: Params) -> int:
    """Number of seats that a pass makes; 1 if it is none that makes a tray."""
    return math.prod(params.copies or (1,)) if isinstance(params, LaysOut) else 1


def run_step(
    step: Step, number: int, artwork: Artwork, seats: Seats, bench: Bench
) -> tuple[Outcome, Seats]:
    """Run one step; returns what came of it, and the artworks of the seats after it.

    Args:
        step: pass with its parameters.
        number: of the step, from 1.
        artwork: before it; with seats, that of the first one.
        seats: artworks of the seats of a tray, or none.
        bench: machine, filament and parts.

    Raises:
        UserError: the pass refuses.
        BrokenPromise: the ledger does not balance, or a promised fact does not hold.
    """
    try:
        if not seats:
            return _held(step, number, artwork, step.params(artwork, bench), bench), {}
        if isinstance(step.params, LaysOut) and seats_of_tray(step.params) > 1:
            return _held(step, number, artwork, step.params.lay_out(seats, bench), bench), {}
        each = {
            seat: _held(step, number, one, step.params(one, bench), bench)
            for seat, one in seats.items()
        }
    except Refusal as refusal:
        found = f"step {number} ({step.name}): {refusal.found}"
        raise wrong(found, refusal.remedy, place=step.place) from refusal
    findings = dict.fromkeys(finding for outcome in each.values() for finding in outcome.findings)
    first = each[min(each)]
    whole = Outcome(artwork=first.artwork, findings=tuple(findings), changes=first.changes)
    return whole, {seat: outcome.artwork for seat, outcome in each.items()}


def _held(step: Step, number: int, before: Artwork, outcome: Outcome, bench: Bench) -> Outcome:
    """The outcome, held to the ledger and to the facts that the pass promises."""
    uneven = imbalances(totals(before), outcome.changes, totals(outcome.artwork))
    if uneven:
        raise BrokenPromise(
            f"the ledger of step {number} ({step.name}) does not balance: {uneven[0]}"
        )
    _expect(step.params.contract_on(bench).gives, step, outcome.artwork)
    return outcome


def _expect(facts: frozenset[Fact], step: Step, artwork: Artwork) -> None:
    if step.params.only or step.params.except_:
        return
    for layer in artwork.layers:
        missing = facts - facts_of(artwork, layer.name, facts)
        for fact in sorted(missing, key=lambda fact: fact.name):
            raise BrokenPromise(
                f"{step.name} promised that {fact.sentence}: not so in {layer.name}"
            )
