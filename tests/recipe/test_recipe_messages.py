"""Every bad recipe says exactly what stands beside it; every good one loads and can be run.

The messages are kept in files so that wording is reviewed in diffs.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from preprocess.engine.facts import MERGED, SEPARATE
from preprocess.engine.proof import prove
from preprocess.errors import UserError
from preprocess.model.bench.bench import Bench
from preprocess.recipe.load import load_recipe

FIXTURES = Path(__file__).parents[2] / "fixtures" / "recipes"
GOOD = sorted(path for path in (FIXTURES / "good").glob("*.yaml") if "recipe:" in path.read_text())
BAD = sorted((FIXTURES / "bad").glob("*.yaml"))
DRAWN = {"artwork": frozenset({MERGED, SEPARATE})}
"""A drawing with one shape that is a line to be engraved."""


def stem(path):
    return path.stem


def load_and_prove(path):
    loaded = load_recipe(path)
    bench = Bench(machine=loaded.machine, filament=loaded.filament, parts=loaded.recipe.parts)
    prove(loaded.steps, DRAWN, bench)
    return loaded


def said(path):
    with pytest.raises(UserError) as caught:
        load_and_prove(path)
    return str(caught.value).replace(f"{path.parent}/", "") + "\n"


@pytest.mark.parametrize("path", BAD, ids=stem)
def test_a_bad_recipe_says_exactly_this(path):
    assert said(path) == path.with_suffix(".message.txt").read_text("utf-8")


@pytest.mark.parametrize("path", BAD, ids=stem)
def test_a_message_is_lines_with_place_and_remedy(path):
    for line in said(path).splitlines():
        place, _, sentence = line.partition(": ")
        assert place.split(":")[0].removeprefix("files/").endswith(".yaml")
        assert "; " in sentence
        assert not any(word in line for word in ("Traceback", "pydantic", "ruamel", "NoneType"))


def test_every_message_has_its_recipe():
    messages = {path.name.removesuffix(".message.txt") for path in BAD[0].parent.glob("*.txt")}
    assert messages == {path.stem for path in BAD}


@pytest.mark.parametrize("path", GOOD, ids=stem)
def test_a_good_recipe_loads_and_its_order_is_proved(path):
    assert path in load_and_prove(path).read_files


@pytest.mark.parametrize("path", GOOD, ids=stem)
def test_what_was_run_is_the_same_recipe_again(path):
    loaded = load_recipe(path)
    again = load_recipe(path, json.dumps(loaded.as_run))
    assert again.options == loaded.options
    assert again.machine == loaded.machine
    assert again.filament == loaded.filament
    assert [(step.name, step.params) for step in again.steps] == [
        (step.name, step.params) for step in loaded.steps
    ]
