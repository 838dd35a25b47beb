"""The order proof, on passes that do nothing but state a contract."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import ClassVar
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from preprocess.engine import registry
from preprocess.engine.contract import Contract, Params
from preprocess.engine.facts import AS_READ, BARRED, CORE, FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.proof import prove
from preprocess.engine.step import Step
from preprocess.errors import Place, UserError
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Selection, Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated(Params):
    """A pass that is nothing but its contract."""

    contract: ClassVar = Contract()
    stated: Contract = Contract()

    def contract_on(self, bench):
        return self.stated


@dataclass(frozen=True, slots=True, kw_only=True)
class OnlyWithMachine(Params):
    contract: ClassVar = Contract()

    def contract_on(self, bench):
        return Contract(needs=frozenset({MERGED}) if bench.machine else frozenset())


def step(name, needs=(), gives=(), keeps=(), seals=(), line=1, **choice):
    facts = {"needs": needs, "gives": gives, "keeps": keeps, "seals": seals}
    stated = Contract(**{key: frozenset(held) for key, held in facts.items()})
    return Step(name=name, params=Stated(stated=stated, **choice), place=Place("r.yaml", line))


FILL = step("strokes-to-areas", gives=[FILLED], keeps=[SEPARATE])
MERGE = step("merge", needs=[FILLED], gives=[MERGED], keeps=[FILLED])
SPLIT = step("split", needs=[FILLED], gives=[SEPARATE], keeps=[FILLED])
BARS = step("equalize-width", needs=[MERGED], gives=[BARRED], keeps=[FILLED, MERGED], seals=[BARRED])  # noqa: E501  # fmt: skip
TIPS = step("inset-tips", needs=[FILLED], keeps=[FILLED, MERGED, SEPARATE], line=9)


def refusals(steps, facts, bench=None, artwork=None):
    try:
        prove(steps, facts, bench or Bench(), artwork)
    except UserError as error:
        return [str(complaint) for complaint in error.complaints]
    return []


def one_layer(*facts):
    return {"artwork": frozenset(facts)}


def test_a_possible_order_is_proved():
    assert refusals([FILL, MERGE, TIPS, BARS], one_layer()) == []


def test_what_is_proved_is_silent():
    assert prove([FILL, MERGE], one_layer(), Bench()) is None


def test_a_missing_fact_names_the_pass_that_gives_it():
    assert refusals([TIPS], one_layer()) == [
        (
            "r.yaml:9: step 1 (inset-tips) needs that no line is to be engraved; "
            "put before it: strokes-to-areas"
        )
    ]


def test_a_pass_that_comes_too_late_is_to_be_moved():
    assert refusals([TIPS, FILL], one_layer()) == [
        (
            "r.yaml:9: step 1 (inset-tips) needs that no line is to be engraved; "
            "move step 2 (strokes-to-areas) before it"
        )
    ]


def test_a_fact_that_was_undone_says_by_whom():
    [said] = refusals([MERGE, SPLIT, BARS], one_layer(FILLED))
    assert said.startswith(
        "r.yaml:1: step 3 (equalize-width) needs that the areas of a layer are one path; "
        "step 2 (split) undid it; put before it: "
    )
    assert "merge" in said


def test_what_is_not_declared_as_kept_is_lost():
    careless = step("careless")
    assert refusals([FILL, careless, TIPS], one_layer())
    assert not refusals([FILL, step("careful", keeps=[FILLED]), TIPS], one_layer())


def test_a_sealed_fact_may_not_be_undone():
    assert refusals([MERGE, BARS, MERGE], one_layer(FILLED)) == [
        (
            "r.yaml:1: step 3 (merge) would undo that bars stand beside the rows, "
            "which step 2 sealed; move it before step 2"
        )
    ]
    kept = step("stamp", keeps=CORE)
    assert refusals([MERGE, BARS, kept], one_layer(FILLED)) == []


def test_all_complaints_at_once_and_each_only_once():
    said = refusals([TIPS, TIPS, MERGE, BARS, MERGE, MERGE], one_layer())
    assert len(said) == 2
    assert "step 1 (inset-tips) needs" in said[0]
    assert "step 5 (merge) would undo" in said[1]


def test_facts_are_held_per_layer():
    facts = {"fronds": frozenset({FILLED}), "veins": frozenset()}
    [said] = refusals([TIPS], facts)
    assert "no line is to be engraved, not so in layer veins;" in said
    assert refusals([TIPS], {}) == []


def test_a_fact_that_nobody_gives():
    [said] = refusals([step("solve", needs=[ZONED], line=3)], one_layer())
    assert said.startswith("r.yaml:3: step 1 (solve) needs that areas carry levels; ")
    assert said.endswith("; put before it: tag-power")
    with patch.object(registry, "passes_giving", return_value=()):
        [said] = refusals([step("solve", needs=[ZONED], line=3)], one_layer())
    assert said.endswith("; no pass at hand makes it so; take the step out")


def test_nobody_is_said_to_have_undone_what_never_held():
    idle = step("idle", keeps=[FILLED])
    [said] = refusals([idle, idle, TIPS], one_layer())
    assert "undid" not in said


def test_only_a_later_pass_that_gives_the_fact_is_to_be_moved():
    [said] = refusals([TIPS, TIPS, FILL], one_layer(MERGED))
    assert said.endswith("; move step 3 (strokes-to-areas) before it")


def test_the_contract_may_depend_on_the_bench():
    steps = [Step(name="odd", params=OnlyWithMachine())]
    assert refusals(steps, one_layer(), Bench()) == []
    assert refusals(steps, one_layer(), Bench(machine=Machine()))


# `only` and `except`


def drawn(**labels):
    """An artwork with a square for each label; the keywords are layers, their values labels."""
    square = MultiPolygon([box(0, 0, 1, 1)])
    shapes = tuple(
        Shape(
            id=f"{layer}-{label}",
            layer=layer,
            operation=Operation.ENGRAVE,
            geometry=square,
            sources=(Source(id=label, label=label),),
        )
        for layer, held in labels.items()
        for label in held.split()
    )
    layers = tuple(Layer(name=name, operation=None, settings={}) for name in labels)
    return Artwork(page=Page(width=10, height=10), shapes=shapes, layers=layers)


def filled(**choice):
    return step("strokes-to-areas", gives=[FILLED], **choice)


def test_a_choice_without_a_drawing_gives_nothing():
    assert refusals([filled(only=Selection(label="Fern")), TIPS], one_layer())


def test_a_choice_without_a_drawing_may_ask_of_every_layer():
    tips = step("inset-tips", needs=[FILLED], only=Selection(label="Fern"))
    assert refusals([tips], one_layer())


def test_what_is_excepted_counts_only_where_all_sources_are():
    merged = drawn(artwork="Fern")
    (both,) = merged.shapes
    sources = (*both.sources, Source(id="Moss", label="Moss"))
    merged = replace(merged, shapes=(replace(both, sources=sources),))
    for label in ("Fern", "Moss"):
        choice = {"except_": Selection(label=label)}
        assert refusals([filled(**choice), TIPS], one_layer(), artwork=merged) == []


def test_a_choice_of_every_shape_gives_the_fact():
    artwork = drawn(artwork="Fern Moss")
    facts = one_layer()
    fern, moss = Selection(label="Fern"), Selection(label="Moss")
    assert refusals([filled(only=fern), TIPS], facts, artwork=artwork)
    assert refusals([filled(except_=fern), TIPS], facts, artwork=artwork)
    assert not refusals([filled(except_=Selection(label="Sage")), TIPS], facts, artwork=artwork)
    assert not refusals([filled(only=moss), TIPS], facts, artwork=drawn(artwork="Moss"))


def test_a_layer_that_is_not_chosen_asks_nothing_and_loses_nothing():
    artwork = drawn(fronds="Fern", veins="Vein")
    fern = Selection(label="Fern")
    facts = {"fronds": frozenset(), "veins": frozenset({MERGED})}
    tips = step("inset-tips", needs=[FILLED], only=fern)
    assert not refusals([filled(only=fern), tips], facts, artwork=artwork)
    needs_merged = step("bars", needs=[MERGED], only=Selection(label="Vein"))
    assert not refusals([filled(only=fern), needs_merged], facts, artwork=artwork)


def test_what_was_done_to_some_shapes_is_sealed_all_the_same():
    artwork = drawn(artwork="Fern Moss")
    bars = step("bars", gives=[BARRED], seals=[BARRED], keeps=[FILLED], only=Selection(label="Fern"))  # noqa: E501  # fmt: skip
    [said] = refusals([bars, MERGE], one_layer(FILLED), artwork=artwork)
    assert "would undo that bars stand beside the rows" in said


# against a second, naive reading of the rules


facts = st.frozensets(st.sampled_from(CORE))
contracts = st.tuples(facts, facts, facts).map(
    lambda held: Contract(
        needs=held[0], gives=held[1], keeps=held[2], seals=held[1] & frozenset({BARRED})
    )
)


def naive(contracts, held):
    """Whether every step finds what it needs and no sealed fact is ever lost."""
    sealed = frozenset()
    for contract in contracts:
        after = (held & contract.keeps) | contract.gives
        if not contract.needs <= held or not sealed <= after:
            return False
        held, sealed = after, sealed | contract.seals
    return True


def possible(contracts, held):
    """Whether our proof takes the order; the message is not looked at."""
    steps = [Step(name="merge", params=Stated(stated=contract)) for contract in contracts]
    with patch.object(registry, "passes_giving", return_value=()):
        return not refusals(steps, held)


@given(st.lists(contracts, max_size=4), st.frozensets(st.sampled_from(AS_READ)))
def test_an_order_is_refused_exactly_when_the_rules_say_so(contracts, held):
    assert possible(contracts, {"artwork": held}) is naive(contracts, held)


@given(st.lists(contracts, max_size=3), st.data())
def test_layers_are_judged_each_by_itself(contracts, data):
    held = {name: data.draw(st.frozensets(st.sampled_from(AS_READ))) for name in "ab"}
    one_by_one = [possible(contracts, {name: held[name]}) for name in held]
    assert possible(contracts, held) is all(one_by_one)


@pytest.mark.parametrize(("first", "second"), list(product([FILL, MERGE, SPLIT, TIPS], repeat=2)))
def test_proving_changes_nothing(first, second):
    before = one_layer(FILLED)
    refusals([first, second], before)
    assert before == one_layer(FILLED)
