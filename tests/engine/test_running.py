"""A pass is held to its ledger and to the facts that it promises, on each seat of a tray."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import pytest
from shapely import MultiPolygon, box

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED
from preprocess.engine.running import BrokenPromise, run_step
from preprocess.engine.step import Step
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.bench.bench import Bench
from tests.labels import shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Careless(Params):
    """Say that areas are one path, and drop the last shape of several without an entry."""

    name: ClassVar = "careless"
    contract: ClassVar = Contract(gives=frozenset({MERGED}), keeps=frozenset({FILLED}))

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        return Outcome(artwork=replace(artwork, shapes=artwork.shapes[:2]))


def leaves(count: int) -> Artwork:
    areas = [MultiPolygon([box(10 * n, 0, 10 * n + 5, 5)]) for n in range(count)]
    return Artwork(
        page=Page(width=50.0, height=20.0),
        shapes=tuple(shape(f"leaf-{n}", "a", Operation.ENGRAVE, a) for n, a in enumerate(areas)),
        layers=(Layer(name="a", operation=None, settings={}),),
    )


def run(artwork: Artwork, **seats: Artwork):
    by_number = {int(name[4:]): one for name, one in seats.items()}
    return run_step(Step(name="careless", params=Careless()), 3, artwork, by_number, Bench())


def test_a_promise_that_holds_is_taken() -> None:
    outcome, seats = run(leaves(1))
    assert outcome.artwork == leaves(1)
    assert seats == {}


def test_a_fact_that_is_promised_and_does_not_hold_is_a_bug() -> None:
    with pytest.raises(BrokenPromise, match="areas of a layer are one path: not so in a"):
        run(leaves(2))


def test_a_ledger_that_does_not_balance_is_a_bug() -> None:
    with pytest.raises(BrokenPromise, match=r"ledger of step 3 \(careless\) does not balance"):
        run(leaves(3))


@pytest.mark.parametrize(("count", "why"), [(2, "not so in a"), (3, "does not balance")])
def test_each_seat_is_held_to_its_own(count: int, why: str) -> None:
    assert run(leaves(1), seat1=leaves(1), seat2=leaves(1))[1] == {1: leaves(1), 2: leaves(1)}
    with pytest.raises(BrokenPromise, match=why):
        run(leaves(1), seat1=leaves(1), seat2=leaves(count))
