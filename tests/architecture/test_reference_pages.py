"""Generated pages: complete, from the fixtures, and never stale without a word."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from preprocess.engine import registry
from preprocess.loading.schema.value_types import declared_keys
from preprocess.recipe.recipe_keys import Recipe
from tests.fresh_docs import main, stale, write
from tests.reference_pages import reference_pages

CASE = """recipe: 1
# drawn by hand
passes:
  - strokes-to-areas
  # the wing dots
  - merge: {only: {label: "a|b"}}
settings:
  engrave: {power: 55 %}
"""


@pytest.fixture
def tree(tmp_path):
    """A tree with one case of `merge`, and a page of a pass that is gone."""
    case = tmp_path / "fixtures" / "passes" / "merge" / "moth-wings"
    case.mkdir(parents=True)
    (case / "recipe.yaml").write_text(CASE, "utf-8")
    (case / "notes.txt").write_text("\nDots on a wing overlap.\nSecond line.\n", "utf-8")
    (tmp_path / "README.md").write_text("# nursery\n", "utf-8")
    (tmp_path / "docs" / "reference" / "passes").mkdir(parents=True)
    (tmp_path / "docs" / "reference" / "passes" / "gone.md").write_text("# gone\n", "utf-8")
    return tmp_path


def test_a_page_has_every_parameter_in_a_table(tree):
    for name in registry.pass_names():
        page = reference_pages(tree)[f"docs/reference/passes/{name}.md"]
        assert page.startswith(f"# {name}\n")
        for parameter in declared_keys(registry.load_pass(name)):
            row = next(line for line in page.splitlines() if line.startswith(f"| `{parameter.name}` "))  # noqa: E501  # fmt: skip
            assert row.count(" | ") == 3


def test_the_example_is_that_of_the_first_case(tree):
    page = reference_pages(tree)["docs/reference/passes/merge.md"]
    assert (
        "```yaml\npasses:\n  - strokes-to-areas\n  # the wing dots\n"
        '  - merge: {only: {label: "a|b"}}\n```'
    ) in page
    assert (
        "- [moth-wings](../../../fixtures/passes/merge/moth-wings/): Dots on a wing overlap."
        in page
    )


def test_the_page_of_the_recipe_has_every_key(tree):
    page = reference_pages(tree)["docs/reference/recipe.md"]
    for key in declared_keys(Recipe):
        assert f"| `{key.name}` | " in page
    for name in registry.pass_names():
        assert f"](passes/{name}.md)" in page


def test_what_is_written_is_fresh_and_a_change_is_noticed(tree):
    assert set(stale(tree)) == {
        *reference_pages(tree),
        "docs/reference/findings.md",
        "docs/project/map.md",
        "docs/project/description.md",
        "docs/reference/passes/gone.md",
    }
    write(tree)
    assert stale(tree) == {}
    assert not (tree / "docs" / "reference" / "passes" / "gone.md").exists()
    page = tree / "docs" / "reference" / "passes" / "merge.md"
    page.write_text(page.read_text("utf-8").replace("Unite", "Untie"), "utf-8")
    assert list(stale(tree)) == ["docs/reference/passes/merge.md"]
    shutil.rmtree(tree / "fixtures")
    assert list(stale(tree)) == ["docs/reference/passes/merge.md"]


def test_a_broken_pass_has_no_page_but_the_others_do(tree, monkeypatch):
    names = registry.pass_names()
    monkeypatch.setattr(
        "preprocess.recipe.reference.pass_explanation.registry.pass_names",
        lambda: (*names, "no-such"),
    )
    monkeypatch.setattr(registry, "pass_summary", lambda name: name)
    assert set(reference_pages(tree)) == {
        "docs/reference/recipe.md",
        *(f"docs/reference/passes/{name}.md" for name in names),
    }


def test_the_pages_of_this_project_are_fresh(capsys):
    assert main([]) == 0, capsys.readouterr().err
    assert Path(__file__).parents[2].joinpath("docs/reference/recipe.md").is_file()
