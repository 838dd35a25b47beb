"""A choice that may match nothing: no pass then does anything, in any of its cases."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from preprocess.errors import Refusal
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.keep_clear import KeepClear
from preprocess.passes.negative import Negative
from preprocess.passes.split import Split
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.passes.benches import artwork, shape
from tests.passes.cases import CASES

BED = Selection(label="a bed that was never sown")
NONE = replace(BED, optional=True)
LEAF = artwork([shape("leaf", box(5, 5, 25, 15))], [box(0, 0, 60, 40)])


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.parent.name}-{case.name}")
def test_a_pass_that_chooses_nothing_changes_nothing(case):
    loaded = load_recipe(case / "recipe.yaml")
    number = next(n for n, step in enumerate(loaded.steps) if step.name == case.parent.name)
    first = replace(loaded, steps=loaded.steps[:number])
    got_so_far = convert(first, (case / "in.svg").read_bytes(), "in.svg")
    before, bench, params = got_so_far.after, got_so_far.bench, loaded.steps[number].params
    step = replace(params, only=NONE, except_=None)
    if isinstance(step, KeepClear):
        step = replace(step, areas=NONE)
    if case.parent.name == "keep-only":
        with pytest.raises(Refusal, match="nothing of the drawing is chosen"):
            step(before, bench)
    elif getattr(params, "copies", None) is not None:
        with pytest.raises(Refusal, match="only some of it is chosen"):
            step(before, bench)
    else:
        assert step(before, bench).artwork.shapes == before.shapes


@pytest.mark.parametrize("key", ["only", "except_"])
def test_without_optional_it_is_refused_and_told_how(key):
    with pytest.raises(Refusal) as told:
        Split(**{key: BED})(LEAF, Bench())
    assert "add optional: true if some drawings have no match" in told.value.remedy


def test_all_but_nothing_is_all():
    two = artwork([shape("pair", box(0, 0, 2, 2).union(box(5, 0, 7, 2)))])
    assert len(Split(except_=NONE)(two, Bench()).artwork.shapes) == 2


def test_nothing_to_keep_clear_of():
    assert KeepClear(areas=NONE)(LEAF, Bench()).artwork.shapes == LEAF.shapes
    with pytest.raises(Refusal, match="matches no shape"):
        KeepClear(areas=BED)(LEAF, Bench())


def test_the_ground_is_then_that_of_the_part():
    (ground,) = Negative(within=NONE)(LEAF, Bench()).artwork.shapes
    assert ground.geometry.area == pytest.approx(60 * 40 - 20 * 10)
    with pytest.raises(Refusal, match="outline of the ground is missing"):
        Negative(within=NONE)(replace(LEAF, parts=()), Bench())
