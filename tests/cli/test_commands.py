"""What people type: nearest names, drawings without a recipe, values that the command sets."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from preprocess.cli import app, jobs
from preprocess.cli.telling import WIDTH
from tests.cli.inside import evenmark

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
  <path id="blade" d="M3 10 Q10 3 24 9 Q12 14 3 10 Z"/>
</svg>
"""
RECIPE = """recipe: 1
design: label.svg
settings: {engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.1 mm}}
passes: [merge]
"""

TELLING = sorted(
    path.stem
    for path in Path(app.__file__).parent.glob("*.py")
    if path.stem != "show" and "print_findings(" in path.read_text("utf-8")
)


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """Runs a command in a folder with a drawing and a recipe; gives code, output, errors."""
    (tmp_path / "label.svg").write_text(DRAWING)
    (tmp_path / "leaf.yaml").write_text(RECIPE)
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    return run


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("label.svg",), "label.svg is a drawing, not a command; type: evenmark run label.svg"),
        (("leaf.yaml",), "leaf.yaml is a recipe, not a command; type: evenmark run leaf.yaml"),
        (("rnu", "leaf.yaml"), "did you mean: evenmark run leaf.yaml"),
        (("init", "label.svg"), "did you mean: evenmark start label.svg"),
        (("validate", "leaf.yaml"), "did you mean: evenmark check leaf.yaml"),
        (("convert", "label.svg"), "did you mean: evenmark run label.svg"),
        (("completion",), "did you mean: evenmark --install-completion"),
        (("xyzzy",), "there is no command 'xyzzy'; evenmark --help lists them"),
        (("run",), "name a drawing or a recipe, such as fern.svg or fern.yaml"),
        (("run", "leaf.yaml", "--ouput", "x.svg"), "no option --ouput; did you mean --out?"),
        (("--verbose", "run", "a.yaml"), "goes after a command: evenmark run a.yaml --verbose"),
        (("--quiet",), "--quiet goes after a command: evenmark run fern.svg --quiet"),
        (
            ("run", "leaf.yaml", "--watch"),
            "--watch is a command of its own: evenmark watch leaf.yaml",
        ),
        (("run", "leaf.yaml", "--overly", "x.svg"), "no option --overly; did you mean --overlay?"),
        (("coupon", "power-speed"), "name the recipe first: evenmark coupon RECIPE power-speed"),
        (
            ("coupon", "leaf.yaml"),
            "a kind behind leaf.yaml, such as power-speed; all: power-speed, pitch",
        ),
        (("series", "leaf.yaml", "label.svg"), "name a folder for all outputs, such as -d out"),
        (
            ("run", "leaf.yaml", "a.svg", "b.svg"),
            "b.svg is too much; evenmark series",
        ),
        (("compare", "label.svg"), "name two drawings"),
        (("fit", "label.svg", "-o", "x.yaml"), "label.svg is a drawing; name grade tables (CSV)"),
        (("equivalents", "leaf.yaml"), "leaf.yaml is a recipe; name the filament's profile"),
    ],
)
def test_misuse_is_told_with_what_was_meant(bench, arguments, said):
    code, out, err = bench(*arguments)
    assert (code, out) == (2, "")
    first, second = err.splitlines()
    assert said in first
    assert second.endswith("--help shows how it is used")


@pytest.mark.usefixtures("bench")
def test_a_measured_recipe_is_called_as_start_would_write_it():
    assert jobs.open_job("label.svg", quiet=True).recipe_name == "label.yaml"
    assert jobs.open_job("leaf.yaml", "label.svg").recipe_name == "leaf.yaml"


def test_an_option_that_is_like_no_other_gets_no_guess(bench):
    _, _, err = bench("run", "leaf.yaml", "--replace")
    assert err.splitlines()[0] == "error: there is no option --replace"


def test_a_script_is_told_of_misuse_in_json(bench):
    code, out, err = bench("run", "leaf.yaml", "--ouput", "x.svg", "--json")
    assert (code, err) == (2, "")
    assert json.loads(out) == {
        "kind": "error",
        "message": "there is no option --ouput; did you mean --out?",
        "remedy": "evenmark run --help shows how it is used",
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("run", "leaf.yaml", "-o", "out.png"), "out.png: this file is to be an SVG drawing"),
        (("run", "leaf.yaml", "-o", "nowhere/out.svg"), "there is no folder"),
        (("run", "leaf.yaml", "--report", "r.txt"), "call it r.json"),
        (("coupon", "leaf.yaml", "power-sped"), "did you mean power-speed?"),
        (("explain", "to-heavy"), "did you mean too-heavy?"),
        (("run", "label.svg", "label.svg"), "two drawings are named, and no recipe"),
    ],
)
def test_what_cannot_be_is_refused_before_any_work(bench, arguments, said, tmp_path):
    before = sorted(tmp_path.iterdir())
    code, out, err = bench(*arguments)
    assert (code, out) == (1, "")
    (line,) = err.splitlines()
    assert said in line
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("option", ["-h", "--help"])
def test_help_has_a_short_name_and_summaries_fit(bench, option):
    code, out, _ = bench(option)
    assert code == 0
    stages = ["Prepare a drawing:", "Make what the laser needs:", "Know your filament:"]
    places = [out.index(stage) for stage in stages]
    assert places == sorted(places)
    assert "..." not in out.partition("\n")[2]
    assert out == bench("help")[1]


def test_help_of_a_command(bench):
    code, out, _ = bench("help", "run")
    assert code == 0
    assert out == bench("run", "-h")[1]
    assert out.startswith("Usage: evenmark run [OPTIONS] RECIPE [DESIGN]\n")
    assert "{" not in out


def test_a_drawing_alone_is_run_with_a_measured_recipe(bench):
    code, _, err = bench("run", "label.svg", "--no-heat")
    assert code == 0
    assert err.splitlines()[0] == (
        "no recipe is named, so one was measured; evenmark start label.svg writes it down"
    )
    alone = Path("label.laser.svg").read_bytes()
    bench("start", "label.svg")
    assert bench("run", "label.yaml", "--no-heat")[0] == 0
    assert Path("label.laser.svg").read_bytes() == alone
    assert "name label.yaml to take the one there" in bench("check", "label.svg")[2]


@pytest.mark.parametrize("command", ["predict", "check"])
def test_other_commands_take_a_drawing_alone(bench, command):
    code, _, err = bench(command, "label.svg")
    assert code == 0
    assert err.startswith("no recipe is named, so one was measured")
    assert not Path("label.yaml").exists()


def test_a_series_measures_each_drawing(bench):
    Path("other.svg").write_text(DRAWING.replace("M3 10", "M4 10"))
    code, out, err = bench("series", "label.svg", "other.svg", "-d", "out", "--workers", "1")
    assert code == 0, err
    assert sorted(path.name for path in Path("out").glob("*.svg")) == [
        "label.laser.svg",
        "other.laser.svg",
    ]
    assert out.count("done") == 2
    assert "2 unchanged" in bench("series", "*.svg", "-d", "out", "--workers", "1")[2]


def test_recipe_and_drawing_may_stand_in_either_order(bench):
    assert bench("run", "label.svg", "leaf.yaml", "--no-heat", "-o", "a.svg")[0] == 0
    assert bench("run", "leaf.yaml", "label.svg", "--no-heat", "-o", "b.svg")[0] == 0
    assert Path("a.svg").read_bytes() == Path("b.svg").read_bytes()


def test_values_that_the_command_sets_are_in_the_report(bench):
    arguments = ("--set", "settings.engrave.power=44%", "--no-heat", "--report", "r.json")
    assert bench("run", "leaf.yaml", *arguments)[0] == 0
    report = json.loads(Path("r.json").read_text())
    assert report["set_by_command"] == ["settings.engrave.power=44%"]
    assert report["recipe_as_run"]["settings"]["engrave"]["power"] == "44 %"


def test_products_go_under_their_usual_names_in_run_and_series_alike(bench):
    assert bench("run", "leaf.yaml", "--no-heat", "--also", "overlay,report")[0] == 0
    assert bench("run", "leaf.yaml", "--no-heat", "-o", "x.svg", "--also", "sheet")[0] == 0
    there = {"label.laser.svg", "label.overlay.svg", "label.report.json", "x.svg", "x.sheet.html"}
    assert {path.name for path in Path().iterdir()} - {"label.svg", "leaf.yaml"} == there
    series = ("series", "leaf.yaml", "label.svg", "-d", "out", "--no-heat", "--workers", "1")
    assert bench(*series, "--also", "overlay,report")[0] == 0
    made = {path.name: path.read_bytes() for path in Path("out").glob("label.*")}
    assert made == {name: Path(name).read_bytes() for name in sorted(there) if name[0] == "l"}
    code, _, err = bench(*series, "--overlay", "--report")
    assert (code, "1 unchanged" in err) == (0, True), "flags of older scripts ask for the same"


def test_a_product_that_has_a_name_keeps_it(bench):
    line = ("run", "leaf.yaml", "--no-heat", "-o", "-", "--also", "overlay,report")
    assert bench(*line, "--overlay", "a.svg")[0] == 0
    assert Path("a.svg").is_file()
    assert Path("label.report.json").is_file()
    assert not Path("label.overlay.svg").exists()


def test_a_product_that_there_is_not_is_refused(bench):
    code, _, err = bench("run", "leaf.yaml", "--also", "overlay,maps")
    assert code == 2
    assert "--also: maps is none of overlay, sheet, report, page" in err


SOLVING = RECIPE.replace(
    "[merge]",
    "[{interleave: {rounds: 4, colours: 2}}, solve-power]",
)


def test_without_heat_no_power_is_solved_and_this_is_told_once(bench):
    Path("leaf.yaml").write_text(SOLVING)
    code, _, err = bench("run", "leaf.yaml", "--no-heat", "--report", "r.json")
    assert code == 0
    assert err.splitlines()[0] == (
        "warn: solve-power needs heat: powers stay as they were [powers-not-solved]"
    )
    assert err.count("warn: ") == 1
    report = json.loads(Path("r.json").read_text())
    assert {layer["settings"]["power_percent"] for layer in report["layers"]} == {30.0}
    assert [list(step) for step in report["recipe_as_run"]["passes"]] == [["interleave"]]
    assert bench("run", "leaf.yaml", "--no-heat", "--strict")[0] == 1
    assert bench("run", "leaf.yaml", "--report", "r.json")[0] == 0
    report = json.loads(Path("r.json").read_text())
    assert [list(step) for step in report["recipe_as_run"]["passes"]][-1] == ["solve-power"]


def test_a_step_that_is_off_is_told(bench):
    _, _, err = bench("run", "leaf.yaml", "--set", "passes.merge.off=true", "--no-heat", "-v")
    assert "note: merge is switched off; delete off: true to run it again [step-off]" in err


def test_the_summary_of_a_run_is_short(bench):
    code, out, err = bench("run", "leaf.yaml", "--report", "r.json")
    assert (code, out) == (0, "")
    lines = err.splitlines()
    assert len(lines) <= 8
    assert all(len(line) <= WIDTH for line in lines)
    assert re.match(
        r"wrote label.laser.svg: 30 × 20 mm, 1 layer, [\d.]+ s to mark, [\d.]+ s as drawn$",
        lines[0],
    )
    assert lines[1] == "and r.json"
    assert lines[2].startswith("changed: no area; ")
    assert lines[2].endswith("notes: --verbose")


def test_json_goes_to_standard_output_unless_it_is_taken(bench):
    code, out, err = bench("run", "leaf.yaml", "--json", "--no-heat")
    assert (code, err) == (0, "")
    assert json.loads(out.splitlines()[-1]) == {"kind": "wrote", "path": "label.laser.svg"}
    code, out, err = bench("run", "leaf.yaml", "--json", "--no-heat", "-o", "-")
    assert code == 0
    assert out.startswith("<?xml")
    assert all(json.loads(line) for line in err.splitlines())


def test_explain_opens_a_code_up(bench):
    code, out, _ = bench("explain", "too-heavy")
    assert code == 0
    assert out.startswith("too-heavy: Places predicted too heavy\nWhy: ")
    assert "How to check: " in out
    assert "    - solve-power" in out
    assert "too-heavy" in bench("explain")[1]
    assert bench("explain", "[too-heavy]")[1] == out


@pytest.mark.parametrize("name", TELLING)
def test_a_command_that_counts_its_notes_can_tell_them(bench, name):
    """Notes are counted with "--verbose", so each command that prints findings has to know it."""
    assert "--verbose" in bench(name, "--help")[1]
