"""Recipes and what they name: typed, resolved beside the recipe, told as they are run."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.loading.yaml.yaml_document import parse_yaml
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import FirstRow, Machine
from preprocess.model.bench.part import Part
from preprocess.recipe.load import load_recipe, recipe_from_mapping
from tests.recipe.plugins import PASS, offer

FULL = """recipe: 1
design: fern-label.svg
machine: bench.yaml
filament: spools/moss.yaml
part:
  outline: "#label-edge"
  thickness: 3 mm
keep_off: ["#clip-left"]
layers:
  - {name: fronds, operation: engrave, choose: {label: "Fronds"}}
  - {name: veins, operation: score, choose: {colour: "#d06000"}, settings: {power: 25 %}}
  - {name: helpers, operation: guide, choose: {select: ".helper"}}
settings:
  engrave: {power: 55 %, speed: 900 mm/s, pitch: 254 lines/in, angle: 0 deg}
drawing: {decimals: 3}
colours: {fronds: "#0072b2"}
passes:
  - prune: {to: 2 mm, only: {select: "#stem"}, away_from: {select: "#bud"}}
"""


@pytest.fixture
def nursery(tmp_path, monkeypatch):
    """A folder with a recipe, a machine and a filament, and a package that offers `prune`."""
    monkeypatch.syspath_prepend(offer(tmp_path, "nursery", f"nursery_{tmp_path.name}".replace("-", "_"), PASS, prune="Prune"))  # noqa: E501  # fmt: skip
    folder = tmp_path / "labels"
    (folder / "spools").mkdir(parents=True)
    (folder / "fern.yaml").write_text(FULL, "utf-8")
    (folder / "bench.yaml").write_text("machine: 1\nname: bench\nfirst_row: page\n", "utf-8")
    (folder / "spools" / "moss.yaml").write_text("filament: 1\nname: moss\n", "utf-8")
    return folder


def refusals(text, path=None):
    with pytest.raises(UserError) as caught:
        load_recipe(path, text)
    return [str(complaint) for complaint in caught.value.complaints]


def test_everything_is_typed_and_resolved_beside_the_recipe(nursery, monkeypatch):
    monkeypatch.chdir("/")
    loaded = load_recipe(nursery / "fern.yaml")
    assert loaded.machine == Machine(name="bench", first_row=FirstRow.PAGE)
    assert loaded.filament == Filament(name="moss")
    assert loaded.design == nursery / "fern-label.svg"
    assert loaded.read_files == tuple(
        nursery / name for name in ("fern.yaml", "bench.yaml", "spools/moss.yaml")
    )
    assert loaded.recipe.colours == {"fronds": "#0072b2"}
    assert loaded.options.parts == (Part(outline="#label-edge", thickness=3.0),)
    assert loaded.options.settings == {
        Operation.ENGRAVE: Settings(power=0.55, speed=900.0, pitch=0.1, angle=0.0)
    }
    assert [rule.name for rule in loaded.options.layers] == ["fronds", "veins", "helpers"]
    assert loaded.options.drawing.decimals == 3


def test_steps_know_their_place_and_that_of_each_key(nursery):
    [step] = load_recipe(nursery / "fern.yaml").steps
    assert (step.name, step.place.line, step.place.column) == ("prune", 18, 5)
    assert {key: place.column for key, place in step.keys.items()} == {
        "to": 13,
        "only": 23,
        "away_from": 48,
    }
    assert step.params.to == 2.0
    assert step.params.only == Selection(select="#stem")


def test_every_selector_anywhere_is_gathered_those_of_plugins_too(nursery):
    assert load_recipe(nursery / "fern.yaml").options.selectors == {
        "#label-edge",
        "#clip-left",
        ".helper",
        "#stem",
        "#bud",
    }


def test_as_run_is_plain_data_and_a_recipe_again(nursery):
    said = load_recipe(nursery / "fern.yaml").as_run
    again = load_recipe(nursery / "fern.yaml", json.dumps(said)).as_run
    assert again == said
    assert said["machine"]["first_row"] == "page"
    assert said["settings"]["engrave"]["pitch"] == "0.1 mm"
    assert said["passes"] == [
        {"prune": {"only": {"select": "#stem"}, "to": "2 mm", "away_from": {"select": "#bud"}}}
    ]


def test_the_design_of_the_command_wins_and_is_its_own_path(nursery):
    assert load_recipe(nursery / "fern.yaml", design="moth.svg").design == Path("moth.svg")
    assert load_recipe(nursery / "fern.yaml", design="-").design == Path("-")
    assert load_recipe(None, "recipe: 1\n").design is None


def test_a_recipe_from_a_pipe_looks_in_the_current_folder():
    loaded = load_recipe(None, "recipe: 1\ndesign: a.svg\nmachine: {name: bench}\n")
    assert loaded.design == Path("a.svg")
    assert loaded.read_files == ()
    assert refusals("recipe: 1\nfoo: 2\n") == [
        (
            "<standard input>:2:1: unknown key 'foo'; known keys: recipe, extends, design, "
            "machine, filament, part, keep_off, layers, settings, drawing, shades, fonts, text, "
            "names_from, limits, colours, share_colours, corrections, check_square, anchors, passes"
        )
    ]


def test_one_part_or_several():
    text = "recipe: 1\npart: [{outline: [60 mm, 30 mm]}, {outline: '#b'}]\n"
    assert load_recipe(None, text).recipe.parts == (Part(outline=(60.0, 30.0)), Part(outline="#b"))
    assert load_recipe(None, "recipe: 1\n").recipe.parts == ()


def test_a_pass_without_parameters_in_three_spellings(tmp_path, monkeypatch):
    bare = PASS.replace('to: Annotated[Length, Doc("how long they stay")]', "")
    monkeypatch.syspath_prepend(offer(tmp_path, "nursery", "nursery_bare", bare, prune="Prune"))
    text = "recipe: 1\npasses:\n  - prune\n  - prune:\n  - prune: {}\n"
    one, two, three = load_recipe(None, text).steps
    assert one.params == two.params == three.params
    assert [step.place.line for step in (one, two, three)] == [3, 4, 5]


def test_complaints_of_all_files_come_at_once_in_order(nursery):
    (nursery / "bench.yaml").write_text("name: bench\nspot: 60\nmachine: 2\n")
    (nursery / "spools" / "moss.yaml").write_text("nme: moss\n")
    text = FULL.replace("55 %", "155 %").replace("to: 2 mm", "to: 2")
    said = refusals(text, nursery / "fern.yaml")
    places = [sentence.split(": ")[0].removeprefix(f"{nursery}/") for sentence in said]
    assert places == [
        "bench.yaml:2:7",
        "fern.yaml:14:20",
        "fern.yaml:18:17",
        "spools/moss.yaml:1:1",
        "spools/moss.yaml:1:1",
    ]


def test_a_file_of_another_version_is_not_read(nursery):
    (nursery / "bench.yaml").write_text("machine: 2\n")
    [said] = refusals(FULL, nursery / "fern.yaml")
    assert said.endswith(
        "bench.yaml:1:10: machine is 2, a format that this evenmark does not read; write machine: 1"
    )


def test_a_machine_file_that_is_missing_or_no_file(nursery):
    (nursery / "bench.yaml").rename(nursery / "bench.yml")
    [said] = refusals(FULL, nursery / "fern.yaml")
    assert f"fern.yaml:3:10: {nursery}/bench.yaml: there is no such file; did you mean" in said
    [said] = refusals(FULL.replace("bench.yaml", "spools"), nursery / "fern.yaml")
    assert said.endswith("spools: that is a folder; name a file in it")


def test_a_few_words_are_told_how_to_be_a_name():
    assert refusals("recipe: 1\nfilament: moss green\n") == [
        (
            "<standard input>:2:11: filament is 'moss green', and there is no such file; "
            "name a file, or write it out: filament: {name: 'moss green'}"
        )
    ]


def test_a_recipe_that_is_a_folder_or_missing(tmp_path):
    for path, words in ((tmp_path, "that is a folder"), (tmp_path / "x", "there is no such file")):
        with pytest.raises(UserError, match=words):
            load_recipe(path)


def test_a_mapping_gives_the_recipe_that_its_yaml_would(nursery):
    mapping = parse_yaml(FULL, "fern.yaml").data
    made = recipe_from_mapping(mapping, folder=nursery)
    loaded = load_recipe(nursery / "fern.yaml")
    assert made.recipe == loaded.recipe
    assert (made.machine, made.filament) == (loaded.machine, loaded.filament)
    assert (made.options, made.design, made.as_run) == (
        loaded.options,
        loaded.design,
        loaded.as_run,
    )
    assert [step.params for step in made.steps] == [step.params for step in loaded.steps]
    assert made.read_files == loaded.read_files[1:]
    assert str(made.steps[0].place) == "recipe: passes[0].prune"


@pytest.mark.parametrize(
    ("mapping", "sentence"),
    [
        ({}, "recipe: the recipe lacks the key 'recipe'; add it, for example recipe: 1"),
        (
            {"recipe": 1, "passes": ["merge", "split", {"merge": {"onyl": 3}}]},
            "recipe: passes[2].merge.onyl: unknown key 'onyl'; did you mean only?",
        ),
        (
            {"recipe": 1, "keep_off": ("#a", 3)},
            ("recipe: keep_off[1]: keep_off, entry 2 is 3; put it in quotes: '3'"),
        ),
        (
            {"recipe": 1, "settings": {"engrave": {"power": 0.5}}},
            ("recipe: settings.engrave.power: power: 0.5 has no unit; write for example 0.5 %"),
        ),
        (
            {"recipe": 1, "design": None},
            "recipe: design: design has no value; give it one or delete it",
        ),
        (
            {"recipe": 1, "design": Path("fern.svg")},
            (
                f"recipe: design: a value of the Python type {type(Path()).__name__} stands here; "
                "give a text, a number, true, false, a list or a mapping"
            ),
        ),
        (
            {"recipe": 1, "colours": {7: "#0072b2"}},
            "recipe: colours: the key 7 is no text; write it as a text: '7'",
        ),
        (
            {"recipe": 1, "machine": "bensh.yaml"},
            "recipe: machine: bensh.yaml: there is no such file; check the path",
        ),
    ],
)
def test_a_mapping_is_refused_by_the_keys_of_the_value(mapping, sentence, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UserError) as caught:
        recipe_from_mapping(mapping)
    assert [str(complaint) for complaint in caught.value.complaints] == [sentence]


def test_a_mapping_that_holds_itself_is_refused():
    mapping = {"recipe": 1}
    mapping["settings"] = mapping
    with pytest.raises(UserError, match="nested too deeply"):
        recipe_from_mapping(mapping)


@pytest.mark.parametrize("number", ["9" * 400, "-" + "9" * 400, "0x" + "f" * 6000, "9" * 6000])
def test_whole_numbers_beyond_all_measure_are_refused_by_name(number):
    with pytest.raises(UserError, match=r"label\.yaml:2:23: max_layers is"):
        load_recipe(Path("label.yaml"), f"recipe: 1\nmachine: {{max_layers: {number}}}\n")


@pytest.mark.parametrize("name", ["a" * 5000, "a\\0b", "\\uFEFF"])
@pytest.mark.parametrize("key", ["machine: ", "filament: ", "fonts: {folder: "])
def test_names_that_no_file_can_have(key, name):
    text = f'recipe: 1\n{key}"{name}"{"}" * key.count("{")}\n'
    with pytest.raises(UserError, match=r"label\.yaml:2:\d+: .*there is no such"):
        load_recipe(Path("label.yaml"), text)


@pytest.mark.parametrize(
    ("copies", "text", "seats"),
    [
        ("[2, 3]", "serial: {from: 14}", [str(number) for number in range(14, 20)]),
        ("[1, 2]", "column: name", []),  # filled by a table
        ("[2, 3]", "value: fern", []),  # all alike
        ("[1, 1]", "serial: {from: 14}", []),
    ],
)
def test_a_serial_fills_the_seats_of_a_tray(copies, text, seats):
    recipe = (
        f"recipe: 1\npasses: [{{place: {{copies: {copies}, spacing: [9 mm, 9 mm]}}}}]\n"
        f"text: [{{element: '#name', {text}}}]\n"
    )
    loaded = load_recipe(None, recipe)
    assert [seat.says["#name"] for seat in loaded.seats] == seats
    assert [seat.number for seat in loaded.seats] == list(range(1, len(seats) + 1))
