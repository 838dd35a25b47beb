"""A recipe with other settings and passes: the rest stays, and it can be loaded."""

from pathlib import Path

import pytest

from preprocess.recipe.load import load_recipe
from preprocess.recipe.starter.recipe_edit import (
    RecipeEdit,
    edit_lines,
    move_recipe,
    name_design,
    rewrite_recipe,
)

TEXT = """# labels for the shade house
recipe: 1
design: drawings/fern.svg   # the second sheet
machine: {name: bench galvo}
filament: moss.yaml
layers:
  - {name: fronds, operation: engrave, choose: {label: Fronds}, settings: {power: 40 %}}
  - {name: stems, operation: engrave, choose: {label: Stems}, settings: {power: 50 %, pitch: 0.2 mm}}
  - {name: veins, operation: score, choose: {colour: "#d06000"}, settings: {power: 25 %}}
settings:
  engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 30 %, speed: 250 mm/s}
passes:
  - merge
"""  # noqa: E501
EDIT = RecipeEdit(
    engrave={"power": "62 %", "direction": "two-way"},
    passes=(
        "split",
        {"tag-power": {"by": "heat", "levels": 3, "powers": ["100 %", "90 %", "80 %"]}},
    ),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = tmp_path / "nursery"
    (home / "drawings").mkdir(parents=True)
    (home / "drawings" / "fern.svg").write_text("<svg/>")
    (home / "moss.yaml").write_text("filament: 1\nname: moss\n")
    return home


def test_settings_of_engraving_hold_for_every_engraved_layer(folder):
    loaded = load_recipe(folder / "job.yaml", rewrite_recipe(TEXT, EDIT))
    engrave, score = (loaded.recipe.settings[o] for o in ("engrave", "score"))
    assert (engrave.power, engrave.direction, engrave.speed) == (0.62, "two-way", 900.0)
    assert score.power == 0.30
    fronds, stems, veins = (rule.settings for rule in loaded.recipe.layers)
    assert (fronds.power, stems.power, stems.pitch, veins.power) == (None, None, 0.2, 0.25)
    assert [step.name for step in loaded.steps] == ["split", "tag-power"]
    assert loaded.steps[1].params.powers == (1.0, 0.9, 0.8)


def test_what_is_not_edited_stays_as_it_was_written():
    after = rewrite_recipe(TEXT, EDIT)
    for line in ("# labels for the shade house", "design: drawings/fern.svg   # the second sheet"):
        assert line in after
    assert rewrite_recipe(after, EDIT) == after
    assert rewrite_recipe(TEXT, RecipeEdit(passes=("merge",))) == TEXT


def test_settings_and_passes_are_added_where_there_are_none(folder):
    loaded = load_recipe(folder / "job.yaml", rewrite_recipe("recipe: 1\n", EDIT))
    assert loaded.recipe.settings["engrave"].power == 0.62
    assert len(loaded.steps) == 2


def test_shared_settings_of_other_layers_stay():
    shared = TEXT.replace("settings: {power: 40 %}", "settings: &s {power: 40 %}").replace(
        "settings: {power: 25 %}", "settings: *s"
    )
    loaded = load_recipe(None, rewrite_recipe(shared, EDIT).replace("filament: moss.yaml\n", ""))
    assert [rule.settings.power for rule in loaded.recipe.layers] == [None, None, 0.4]


def test_files_are_found_from_another_folder(folder, tmp_path):
    there = tmp_path / "bench" / "today"
    there.mkdir(parents=True)
    loaded = load_recipe(there / "job.yaml", move_recipe(TEXT, folder, there))
    assert loaded.design.resolve() == (folder / "drawings" / "fern.svg").resolve()
    assert loaded.filament.name == "moss"
    assert loaded.machine.name == "bench galvo"
    assert move_recipe(TEXT, folder, folder) == TEXT


def test_another_drawing_is_named(folder):
    for text in (TEXT, TEXT.replace("design: drawings/fern.svg   # the second sheet\n", "")):
        assert (
            load_recipe(folder / "job.yaml", name_design(text, "moth.svg")).design.name
            == "moth.svg"
        )


def test_the_lines_alone_can_be_pasted():
    loaded = load_recipe(None, f"recipe: 1\n{edit_lines(EDIT)}")
    assert loaded.recipe.settings["engrave"].power == 0.62
    assert [step.name for step in loaded.steps] == ["split", "tag-power"]
