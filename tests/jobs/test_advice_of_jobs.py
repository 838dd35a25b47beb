"""No way that `advise` lists beats a shipped example in all its figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from preprocess.advice.advise import AdviceLimits, compare_ways
from preprocess.advice.simulate import AdviceRequest
from preprocess.recipe.load import load_recipe

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
SHOWN = "fern/fern", "moth/moth-together", "seed-head/seed-head"


@pytest.mark.parametrize("name", SHOWN)
def test_no_way_beats_a_shipped_example(name):
    path = JOBS / f"{name}.yaml"
    text = path.read_text("utf-8")
    loaded = load_recipe(path, text)
    data = (path.parent / str(loaded.recipe.design)).read_bytes()
    asked = AdviceRequest(text=text, path=path, loaded=loaded, data=data, design=name)
    advice = compare_ways(asked, AdviceLimits(), lambda: None)
    for one in advice.best:
        if not one.way.given:
            pairs = zip(one.key, advice.given.key, strict=True)
            assert not all(theirs <= shipped for theirs, shipped in pairs), one.way.title
