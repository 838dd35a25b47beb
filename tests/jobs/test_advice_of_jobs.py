"""No way that `advise` lists beats a shipped example in all its figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from preprocess.advice.advise import AdviceLimits, compare_ways
from preprocess.advice.candidates import other_ways
from preprocess.advice.rating import rate_way
from preprocess.advice.simulate import AdviceRequest, Simulation, simulate_way
from preprocess.advice.ways import Way
from preprocess.engine.progress import StepMemory
from preprocess.recipe.load import load_recipe
from tests.pictures import JOBS, recipes

if TYPE_CHECKING:
    from pathlib import Path

BARRED = "fern-with-bars.yaml", "sprout-with-bars.yaml"
"""For software that loses rounds: none of the ways that it can do is better."""

SHOWN = [path for path in recipes() if path.name not in BARRED]


def asked_for(path: Path) -> AdviceRequest:
    text = path.read_text("utf-8")
    loaded = load_recipe(path, text)
    data = (path.parent / str(loaded.recipe.design)).read_bytes()
    return AdviceRequest(text=text, path=path, loaded=loaded, data=data, design=path.stem)


def figures(one) -> tuple[float, ...]:
    """What a person compares, the less the better, as the table tells it."""
    found = one.objective
    shares = [
        each
        for at in (found.likely, found.worst)
        for each in (at.hot - 1, 1 - at.cold, at.seam, at.outside or 0.0)
    ]
    return (*(round(each, 2) for each in shares), round(found.time, 1), found.layers)


def beats(one, shipped) -> bool:
    theirs, mine = figures(one), figures(shipped)
    return theirs != mine and all(a <= b for a, b in zip(theirs, mine, strict=True))


@pytest.mark.parametrize("path", SHOWN, ids=lambda path: path.stem)
def test_no_way_beats_a_shipped_example(path):
    advice = compare_ways(asked_for(path), AdviceLimits(), lambda: None)
    others = [one for one in advice.best if not one.way.given]
    assert [one.way.title for one in others if beats(one, advice.given)] == []


@pytest.mark.parametrize("name", BARRED)
def test_no_way_without_rounds_beats_the_example_with_bars(name):
    (path,) = JOBS.glob(f"*/{name}")
    asked, memory = asked_for(path), StepMemory()
    ways = (Way(given=True), Way(), *other_ways(bars=True))
    tried = [simulate_way(asked, way, memory) for way in ways]
    given, *others = [rate_way(one) for one in tried if isinstance(one, Simulation)]
    assert others
    assert [one.way.title for one in others if beats(one, given)] == []


def test_every_recipe_that_the_readme_names_is_among_them():
    readme = (JOBS.parents[1] / "README.md").read_text("utf-8")
    named = {path.name for path in JOBS.glob("*/*.yaml") if path.name in readme}
    assert {"fern.yaml", "fern-with-bars.yaml"} <= named <= {path.name for path in recipes()}
