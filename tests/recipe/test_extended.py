"""Recipes that build on another, and values that the command sets."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from preprocess.errors import UserError
from preprocess.model.artwork.settings import Operation
from preprocess.recipe.load import load_recipe, whole_text
from tests.read.mesh.mesh_files import binary, box

if TYPE_CHECKING:
    from pathlib import Path

BASE = """recipe: 1
design: fern.svg
machine: bench.yaml
settings:
  engrave: {power: 40 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 20 %, speed: 250 mm/s}
layers:
  - {name: fronds, operation: engrave, choose: {label: Fronds}}
  - {name: veins, operation: score, choose: {label: Veins}}
passes:
  - merge
  - inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm}
"""
BENCH = "machine: 1\nname: bench galvo\nspot: 0.06 mm\n"


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "base.yaml").write_text(BASE)
    (tmp_path / "bench.yaml").write_text(BENCH)
    (tmp_path / "beds").mkdir()
    return tmp_path


def loaded(path: Path, text: str, *changes: str):
    path.write_text(text)
    return load_recipe(path, changes=changes)


def test_mappings_are_joined_and_lists_replaced(bench):
    over = "recipe: 1\nextends: base.yaml\nsettings: {engrave: {power: 55 %}}\npasses: [merge]\n"
    found = loaded(bench / "fern.yaml", over)
    engrave = found.recipe.settings[Operation.ENGRAVE]
    assert (engrave.power, engrave.speed) == (pytest.approx(0.55), pytest.approx(900))
    assert found.recipe.settings[Operation.SCORE].power == pytest.approx(0.20)
    assert [step.name for step in found.steps] == ["merge"]
    assert [rule.name for rule in found.recipe.layers] == ["fronds", "veins"]
    assert found.read_files == (bench / "fern.yaml", bench / "base.yaml", bench / "bench.yaml")


def test_files_are_found_from_the_recipe_that_names_them(bench):
    found = loaded(bench / "beds" / "north.yaml", "recipe: 1\nextends: ../base.yaml\n")
    assert found.machine is not None
    assert found.machine.name == "bench galvo"
    assert found.design is not None
    assert found.design.resolve() == (bench / "fern.svg").resolve()


@pytest.mark.parametrize("several", [False, True])
def test_models_of_parts_are_found_from_the_recipe_that_names_them(bench, several):
    (bench / "label.stl").write_bytes(binary(box(0, 0, 0, 60, 30, 3)))
    part = "[{outline: [9 mm, 9 mm]}, {model: label.stl}]" if several else "{model: label.stl}"
    (bench / "part.yaml").write_text(f"recipe: 1\npart: {part}\npasses: []\n")
    found = loaded(bench / "beds" / "north.yaml", "recipe: 1\nextends: ../part.yaml\n")
    assert found.bench.parts[-1].height == pytest.approx(3)


def test_several_may_stand_on_one_another(bench):
    (bench / "middle.yaml").write_text("recipe: 1\nextends: base.yaml\ndesign: moth.svg\n")
    found = loaded(bench / "top.yaml", "recipe: 1\nextends: middle.yaml\n")
    assert found.design == bench / "moth.svg"
    assert found.recipe.settings[Operation.ENGRAVE].power == pytest.approx(0.40)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("recipe: 1\nextends: nowhere.yaml\n", "nowhere.yaml: there is no such file"),
        ("recipe: 1\nextends: 3\n", "extends names no recipe"),
        ("extends: base.yaml\n", "lacks the key 'recipe'"),
        ("recipe: 1\nextends: top.yaml\n", "in its turn"),
        ("recipe: 1\nextends: base.yaml\nsetings: {}\n", "top.yaml:3:1: unknown key 'setings'"),
    ],
)
def test_what_cannot_be_laid_over_another_is_told(bench, text, said):
    with pytest.raises(UserError) as refused:
        loaded(bench / "top.yaml", text)
    assert said in str(refused.value)


def test_a_circle_of_two_is_refused(bench):
    (bench / "one.yaml").write_text("recipe: 1\nextends: two.yaml\n")
    with pytest.raises(UserError, match="in its turn"):
        loaded(bench / "two.yaml", "recipe: 1\nextends: one.yaml\n")


def test_a_mistake_in_the_lower_file_is_placed_there(bench):
    (bench / "base.yaml").write_text(BASE.replace("40 %", "40"))
    with pytest.raises(UserError) as refused:
        loaded(bench / "top.yaml", "recipe: 1\nextends: base.yaml\n")
    assert "base.yaml:5:20: power: 40 has no unit" in str(refused.value)


def test_a_step_that_is_off_is_checked_and_left_out(bench):
    off = BASE.replace("by: 0.05 mm", "by: 0.05 mm, off: true")
    found = loaded(bench / "base.yaml", off)
    assert [step.name for step in found.steps] == ["merge"]
    assert [step.name for step in found.steps_off] == ["inset-tips"]
    with pytest.raises(UserError, match=r"0\.05 has no unit"):
        loaded(bench / "base.yaml", off.replace("by: 0.05 mm", "by: 0.05"))


@pytest.mark.parametrize(
    ("change", "read", "value"),
    [
        ("settings.engrave.power=50%", lambda r: r.recipe.settings[Operation.ENGRAVE].power, 0.5),
        ("layers.veins.operation=cut", lambda r: r.recipe.layers[1].operation, Operation.CUT),
        ("layers.2.operation=cut", lambda r: r.recipe.layers[1].operation, Operation.CUT),
        ("passes.inset-tips.by=0.02mm", lambda r: r.steps[1].params.by, 0.02),
        ("passes.merge.off=true", lambda r: len(r.steps), 1),
        ("machine.spot=0.05mm", lambda r: r.machine.spot, 0.05),
        ("filament.name=moss", lambda r: r.filament.name, "moss"),
        ('part={outline: "#edge"}', lambda r: r.recipe.part.outline, "#edge"),
        ("part.outline=#edge", lambda r: r.recipe.part.outline, "#edge"),
    ],
)
def test_the_command_sets_any_value(bench, change, read, value):
    assert read(load_recipe(bench / "base.yaml", changes=(change,))) == value


def test_the_last_of_two_alike_holds(bench):
    changes = ("settings.engrave.power=50%", "settings.engrave.power=60%")
    found = load_recipe(bench / "base.yaml", changes=changes)
    assert found.recipe.settings[Operation.ENGRAVE].power == pytest.approx(0.6)
    assert found.changes == changes


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("settings.engrave.pwer=50%", "unknown key 'pwer'; did you mean power?"),
        ("settings.engrave.power=50", "power: 50 has no unit"),
        ("power", "no value is set here; write KEY=VALUE"),
        ("settings.engrave.power=", "no value is set here; write KEY=VALUE"),
        ("passes.marge.off=true", "no entry 'marge'; did you mean merge?"),
        ("passes.7.off=true", "no entry '7'; its entries are merge, inset-tips"),
        ("design.name=x", "set design itself"),
        ("layers=[", "a bracket is not closed"),
    ],
)
def test_a_wrong_value_is_told_with_the_option(bench, change, said):
    with pytest.raises(UserError) as refused:
        load_recipe(bench / "base.yaml", changes=(change,))
    assert str(refused.value).startswith(f"--set {change}: ")
    assert said in str(refused.value)


def test_the_whole_text_says_the_same_by_itself(bench):
    over = "recipe: 1\nextends: base.yaml\nsettings: {engrave: {power: 55 %}}\n"
    path = bench / "fern.yaml"
    told = loaded(path, over, "machine.spot=0.05mm")
    again = load_recipe(path, whole_text(path, over, ("machine.spot=0.05mm",)))
    assert again.as_run == told.as_run
    assert whole_text(bench / "base.yaml", BASE) == BASE
