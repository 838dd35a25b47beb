"""The record from outside: an entry to each written file, its outcome, found again, warned of."""

from __future__ import annotations

import hashlib
import json
import re
import shlex
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests import written_svg as written
from tests.cli.inside import evenmark

LEAF = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="edge" d="M2 2 H58 V38 H2 Z" fill="none" stroke="#f00" stroke-width="0.1"/>
<path id="leaf" d="M12 20 Q24 8 40 14 Q30 30 12 20 Z"/>
<path id="stem" d="M12 20 L6 26" fill="none" stroke="#000" stroke-width="0.2"/></svg>"""

RECIPE = """recipe: 1
design: leaf.svg
machine: {name: bench galvo, field: [110 mm, 110 mm], extra_settings: {frequency: {unit: kHz}}}
filament: {name: "SPOOL", polymer: PETG}
part: {outline: "#edge"}
settings:
  engrave: {power: 40 %, speed: 600 mm/s, pitch: 0.1 mm, frequency: 30 kHz}
  score: {power: 20 %, speed: 200 mm/s}
passes: [merge]
"""


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """Runs a command in a folder with a recipe; gives exit code, standard output and error."""
    monkeypatch.chdir(tmp_path)
    recipe()
    Path("leaf.svg").write_text(LEAF)

    def run(line):
        return evenmark(monkeypatch, capsys, *shlex.split(line))

    return run


def recipe(spool="moss PETG, spool 3", power="40 %"):
    text = RECIPE.replace("SPOOL", spool).replace("40 %", power)
    Path("leaf.yaml").write_text(text)


RUN = "run leaf.yaml -o leaf.laser.svg --no-heat --verbose --record log"


def entries(folder="log"):
    return sorted(Path(folder).iterdir())


def loaded(path):
    return YAML(typ="safe").load(path.read_text())


def sha(path):
    return hashlib.sha256(Path(path).read_bytes()).hexdigest()


def test_a_run_adds_what_it_takes_to_repeat_it(bench) -> None:
    assert bench(RUN)[0] == 0
    (path,) = entries()
    said = loaded(path)
    assert said["design_sha256"] == sha("leaf.svg")
    assert said["svg_sha256"] == sha("leaf.laser.svg")
    assert re.fullmatch(r"0001-leaf-[0-9a-f]{8}\.yaml", path.name)
    layers = written.read(Path("leaf.laser.svg").read_bytes())[1]
    assert [(one["id"], one["colour"]) for one in said["layers"]] == [
        (layer.title, layer.colour) for layer in layers
    ]
    assert said["layers"][0]["settings"]["frequency"] == "30 kHz"
    assert said["layers"][0]["settings"]["power"] == "40 %"
    assert said["filament"] == "moss PETG, spool 3"
    assert said["part"] == "#edge 56.00 × 36.00 mm"
    assert said["recipe"]["passes"] == ["merge"]
    assert "marked" not in said


def test_the_same_unmarked_run_is_one_entry_and_a_marked_one_is_not(bench) -> None:
    bench(RUN)
    before = entries()[0].read_bytes()
    bench(RUN)
    assert [path.read_bytes() for path in entries()] == [before]
    bench("log last --record log --grade even")
    bench(RUN)
    assert [loaded(path)["number"] for path in entries()] == [1, 2]


def test_the_maker_adds_lines_and_nothing_else_changes(bench) -> None:
    bench(RUN)
    (path,) = entries()
    path.write_text(path.read_text() + "# by hand: the card was new\n")
    before = path.read_text()
    said = 'log last --record log --grade heavy --note "tips: charred #2" --on 2026-11-29'
    assert bench(said)[0] == 0
    assert bench("log 1 --record log --note better")[0] == 0
    text = path.read_text()
    assert text.startswith(before)
    assert loaded(path)["marked"] == [
        {"on": "2026-11-29", "grade": "heavy", "note": "tips: charred #2"},
        {"note": "better"},
    ]
    assert bench("log last --record log")[1] == text


def test_entries_are_found_by_part_filament_and_design(bench) -> None:
    bench(RUN)
    recipe(spool="slate PLA")
    bench(RUN)
    found = {
        words: [
            json.loads(line)["filament"]
            for line in bench(f"log --record log --json {words}")[1].splitlines()
        ]
        for words in (
            "",
            "--filament MOSS",
            "--part '#edge' --filament slate",
            "--design leaf",
            "--design fern",
        )
    }
    both = ["moss PETG, spool 3", "slate PLA"]
    assert list(found.values()) == [both, both[:1], both[1:], both, []]
    assert "no such entry" in bench("log --record log --design fern")[2]


def test_a_bad_grade_of_the_same_drawing_on_the_same_filament_is_told(bench) -> None:
    bench(RUN)
    bench('log last --record log --grade molten --note "shiny"')
    code, _, err = bench(RUN)
    assert code == 0
    told = " ".join(err.split())
    assert 'was graded molten before, with the same settings ("shiny"): entry 1' in told
    assert "see evenmark log 1" in told
    recipe(power="30 %")
    assert "was graded molten before, with other settings" in bench(RUN)[2]
    assert bench(f"{RUN} --strict")[0] == 1
    recipe(spool="slate PLA")
    assert "graded" not in bench(RUN)[2]
    recipe()
    Path("leaf.svg").write_text(LEAF.replace("Q30 30", "Q30 29"))
    assert "graded" not in bench(RUN)[2]


def test_a_later_even_grade_settles_it(bench) -> None:
    bench(RUN)
    bench("log last --record log --grade molten")
    recipe(power="30 %")
    bench(RUN)
    bench("log last --record log --grade even")
    assert "graded" not in bench(RUN)[2]


def test_two_branches_can_be_put_together(bench) -> None:
    bench(RUN)
    recipe(power="30 %")
    bench(f"{RUN.removesuffix('log')}other")
    for path in entries("other"):
        (Path("log") / path.name).write_bytes(path.read_bytes())
    assert [loaded(path)["number"] for path in entries()] == [1, 1]
    code, _, err = bench("log 1 --record log --grade even")
    assert code == 1
    assert "two entries have the number 1; name its file:" in err
    assert bench(f"log {entries()[0].name} --record log --grade even")[0] == 0
    bench(RUN)
    assert sorted(loaded(path)["number"] for path in entries()) in ([1, 1], [1, 1, 2])


def test_the_recipe_of_an_entry_makes_the_same_file_again(bench) -> None:
    bench(RUN)
    with Path("again.yaml").open("w") as file:
        YAML().dump(loaded(entries()[0])["recipe"], file)
    assert bench("run again.yaml -o again.svg --no-heat")[0] == 0
    assert Path("again.svg").read_bytes() == Path("leaf.laser.svg").read_bytes()


def test_what_is_not_written_is_not_recorded(bench) -> None:
    text = Path("leaf.yaml").read_text().replace("110 mm, 110 mm", "20 mm, 20 mm")
    Path("leaf.yaml").write_text(text)
    assert bench(RUN)[0] == 1
    assert not Path("log").exists()


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        ("log last --record none", 1, "the record has no entry 'last'; run with --record"),
        ("log 7 --record log", 1, "the record has no entry '7'"),
        ("log last --record log --grade fine", 2, "'fine' is none of weak, even, heavy, molten"),
        ("log last --record log --on monday --grade even", 2, "write year, month, day"),
        ("log --record log --grade even", 2, "say which entry"),
        ("log --record leaf.svg", 1, "this is no folder"),
        ("run leaf.yaml -o x.svg --no-heat --record leaf.svg", 1, "this is no folder"),
    ],
)
def test_slips_end_in_a_sentence(bench, line, code, words) -> None:
    bench(RUN)
    left, _, err = bench(line)
    assert left == code
    assert words in " ".join(err.replace("│", " ").split())
    assert "Traceback" not in err


def test_a_damaged_entry_is_named_with_its_line(bench) -> None:
    bench(RUN)
    (path,) = entries()
    path.write_text(path.read_text().replace("number: 1", "number: one"))
    code, _, err = bench("log --record log")
    assert code == 1
    assert f"{path.name}:3:" in err
