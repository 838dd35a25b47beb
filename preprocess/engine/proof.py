"""Proof of the order of passes, in facts about each layer, before any pass runs.

Passes are never reordered: the order changes the marked part, so a person decides.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.engine import registry
from preprocess.engine.facts import IN_GREYS
from preprocess.errors import Complaint, UserError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.engine.contract import Params
    from preprocess.engine.facts import Fact
    from preprocess.engine.step import Step
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench


@dataclass(slots=True)
class _Standing:
    """Facts of one layer after the steps so far; step numbers count from 1."""

    facts: frozenset[Fact]
    undone_by: dict[Fact, int] = field(default_factory=dict)
    sealed_by: dict[Fact, int] = field(default_factory=dict)


def prove(
    steps: Sequence[Step],
    facts: Mapping[str, frozenset[Fact]],
    bench: Bench,
    artwork: Artwork | None = None,
) -> None:
    """Prove that each step finds the facts that it needs, and undoes none that is sealed.

    Args:
        steps: the passes in order.
        facts: facts of each layer as read.
        bench: contracts may depend on it.
        artwork: the drawing as read, in which `only` and `except` choose shapes; without it
            a choice is taken to hold some shapes of every layer.

    Raises:
        UserError: one complaint for each fact that a step lacks or would undo.
    """
    layers = {
        name: _Standing(held, sealed_by=_sealed_as_read(artwork, name))
        for name, held in facts.items()
    }
    complaints: list[Complaint] = []
    for number, step in enumerate(steps, 1):
        lacking: dict[Fact, list[str]] = {}
        undoing: dict[Fact, int] = {}
        for name, standing in layers.items():
            some, every = _reach(step.params, name, artwork)
            if some:
                for fact in _lacking(step, standing, bench):
                    lacking.setdefault(fact, []).append(name)
                undoing |= _apply(step, number, standing, bench, every=every)
        complaints += (
            _lacks(steps, number, fact, lacking[fact], layers, bench) for fact in _sorted(lacking)
        )
        complaints += (_undoes(step, number, fact, undoing[fact]) for fact in _sorted(undoing))
    if complaints:
        raise UserError(complaints)


def _sealed_as_read(artwork: Artwork | None, layer: str) -> dict[Fact, int]:
    """Images of greys in the drawing are as they shall be marked: step 0 has sealed them."""
    shapes = () if artwork is None else artwork.shapes_of(layer)
    return dict.fromkeys([IN_GREYS] if any(s.grey is not None for s in shapes) else [], 0)


def _lacking(step: Step, standing: _Standing, bench: Bench) -> frozenset[Fact]:
    return step.params.contract_on(bench).needs - standing.facts


def _apply(
    step: Step, number: int, standing: _Standing, bench: Bench, *, every: bool
) -> dict[Fact, int]:
    """Bring one layer past a step; returns the sealed facts that it undoes, with who sealed them.

    A lacking fact is reported once: later steps are judged as if it held. A step on some of the
    shapes gives nothing, but it seals its facts all the same.
    """
    contract = step.params.contract_on(bench)
    left = contract.keeps | contract.gives
    undone = {fact: by for fact, by in standing.sealed_by.items() if fact not in left}
    before = standing.facts | contract.needs
    standing.facts = before & contract.keeps
    if every:
        standing.facts |= contract.gives
    standing.undone_by |= dict.fromkeys(before - standing.facts, number)
    kept = {fact: by for fact, by in standing.sealed_by.items() if fact in left}
    standing.sealed_by = kept | dict.fromkeys(contract.seals, number)
    return undone


def _reach(params: Params, layer: str, artwork: Artwork | None) -> tuple[bool, bool]:
    """Test whether a step works on (some, all) of the shapes of a layer."""
    if params.only is None and params.except_ is None:
        return True, True
    if artwork is None:
        return True, False
    hits = [_chosen(shape, params) for shape in artwork.shapes_of(layer)]
    return any(hits), all(hits)


def _chosen(shape: Shape, params: Params) -> bool:
    wanted = params.only is None or shape.matches(params.only)[1]
    return wanted and not (params.except_ is not None and shape.matches(params.except_)[0])


def _lacks(
    steps: Sequence[Step],
    number: int,
    fact: Fact,
    names: list[str],
    layers: Mapping[str, _Standing],
    bench: Bench,
) -> Complaint:
    step = steps[number - 1]
    found = f"step {number} ({step.name}) needs that {fact.sentence}"
    if len(names) < len(layers):
        found += f", not so in layer {' and '.join(names)}"
    undoers = {layers[name].undone_by.get(fact, 0) for name in names} - {0, number}
    if undoers:
        earlier = min(undoers)
        found += f"; step {earlier} ({steps[earlier - 1].name}) undid it"
    return Complaint(found, _remedy(steps, number, fact, bench), step.place)


def _remedy(steps: Sequence[Step], number: int, fact: Fact, bench: Bench) -> str:
    for later, step in enumerate(steps[number:], number + 1):
        if fact in step.params.contract_on(bench).gives:
            return f"move step {later} ({step.name}) before it"
    givers = registry.passes_giving(fact)
    if not givers:
        return "no pass at hand makes it so; take the step out"
    return f"put before it: {' or '.join(givers)}"


def _undoes(step: Step, number: int, fact: Fact, sealer: int) -> Complaint:
    if not sealer:
        found = f"step {number} ({step.name}) would undo that {fact.sentence} in the drawing"
        remedy = "take it out, or convert the drawing that the images were made from"
        return Complaint(found, remedy, step.place)
    found = (
        f"step {number} ({step.name}) would undo that {fact.sentence}, which step {sealer} sealed"
    )
    return Complaint(found, f"move it before step {sealer}", step.place)


def _sorted(facts: Mapping[Fact, object]) -> list[Fact]:
    return sorted(facts, key=lambda fact: fact.name)
