"""Explanations: one for each code, in few words, with recipe lines that a recipe may hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from preprocess.explained.explanations import explanations
from preprocess.loading.yaml.yaml_document import parse_yaml
from preprocess.recipe.load import recipe_from_mapping
from tests.finding_list import findings

ROOT = Path(__file__).parents[2]


def test_each_code_is_explained_and_no_other():
    told = {one.code for one in findings(ROOT)}
    assert set(explanations()) == told


@pytest.mark.parametrize("code", sorted(explanations()))
def test_explanations_are_short_sentences(code):
    one = explanations()[code]
    assert len(one.title) <= 60
    for text in (one.why, one.check, one.do):
        assert text.endswith(".") or "pip install" in text
        assert len(text) <= 120


@pytest.mark.parametrize("code", [code for code, one in explanations().items() if one.recipe])
def test_recipe_lines_are_right(code, tmp_path):
    text = "recipe: 1\n" + "\n".join(explanations()[code].recipe)
    (tmp_path / "fonts").mkdir()
    data = parse_yaml(text, "lines").data
    if data.get("filament") == "moss-petg.yaml":
        data["filament"] = {"name": "moss-green PETG"}
    recipe_from_mapping(data, folder=tmp_path)
