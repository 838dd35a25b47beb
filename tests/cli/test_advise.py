"""``evenmark advise`` from outside: what it prints, writes and refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.inside import evenmark

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
  <path id="leaf" d="M3 2 H11 L7 9 Z"/>
</svg>
"""
RECIPE = """# leaves for the shade house
recipe: 1
design: leaf.svg
machine: {name: bench galvo, spot: 0.06 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s}
filament: moss.yaml
layers:
  - {name: leaf, operation: engrave, choose: {select: "#leaf"}, settings: {power: 20 %}}
settings:
  engrave: {power: 30 %, speed: 300 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}
passes: [merge]
"""
FILAMENT = """filament: 1
name: moss
polymer: PETG
optical_depth: 0.1 mm
spread: 0.6 mm
reference: {size: [8 mm, 8 mm], power: 40 %, speed: 300 mm/s, pitch: 0.1 mm, direction: one-way}
window: {weak: 0.85, heavy: 1.2}
"""


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    (tmp_path / "leaf.svg").write_text(DRAWING)
    (tmp_path / "leaf.yaml").write_text(RECIPE)
    (tmp_path / "moss.yaml").write_text(FILAMENT)
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    return run


def test_the_written_recipe_runs_from_another_folder_and_is_as_was_said(bench):
    before = {path: path.read_bytes() for path in Path().glob("*.*")}
    arguments = ("--no-bars", "--write", "out/new.yaml", "--report", "out/advice.json")
    code, out, err = bench("advise", "leaf.yaml", *arguments)
    assert code == 0
    assert err.splitlines() == ["wrote out/advice.json", "wrote out/new.yaml"]
    assert {path: path.read_bytes() for path in before} == before
    assert out.startswith("Best, ")
    assert "0 the recipe as it stands" in out
    assert "Take out the power of layer leaf" in out
    assert "a coupon decides" in out
    held = json.loads(Path("out/advice.json").read_text("utf-8"))
    (best,) = (way for way in held["ways"] if way["number"] == held["best"])
    assert best["lines"] in out
    written = Path("out/new.yaml").read_text("utf-8")
    assert written.startswith("# leaves for the shade house\n")
    assert "design: ../leaf.svg" in written
    assert "filament: ../moss.yaml" in written

    code, _, _ = bench("run", "out/new.yaml", "-o", "out/leaf.laser.svg", "--report", "out/r.json")
    assert code == 0
    report = json.loads(Path("out/r.json").read_text("utf-8"))
    heat = report["heat"]["after"]
    for key, figure in best["worst"].items():
        assert heat["evenness"]["worst"][key] == pytest.approx(figure, abs=1e-4)
    outside = heat["share_too_weak"] + heat["share_too_heavy"]
    assert outside == pytest.approx(best["share_outside_window"], abs=1e-4)
    assert report["time_s"]["after"] == pytest.approx(best["time_s"], rel=1e-4)
    assert len(report["layers"]) == best["layers"]


def test_json_comes_alone_and_a_way_that_is_not_there_is_refused(bench):
    arguments = ("--no-bars", "--most-layers", "1", "--json", "--write", "new.yaml")
    code, out, err = bench("advise", "leaf.yaml", *arguments, "--choose", "99")
    assert code == 1
    assert not err
    advice, error = (json.loads(line) for line in out.splitlines())
    assert advice["kind"] == "advice"
    assert {way["layers"] for way in advice["ways"]} == {1}
    assert error["message"] == "way 99 does not exist"
    assert error["remedy"].startswith("choose one of 0")
    assert not Path("new.yaml").exists()


def test_an_input_is_never_written_over(bench):
    for name in ("leaf.yaml", "leaf.svg", "moss.yaml"):
        before = Path(name).read_bytes()
        code, _, err = bench("advise", "leaf.yaml", "--write", name)
        assert code == 1
        assert name in err
        assert Path(name).read_bytes() == before


def test_to_choose_there_must_be_something_to_write(bench):
    code, _, err = bench("advise", "leaf.yaml", "--choose", "1")
    assert code == 2
    assert "--write" in err


def test_what_cannot_be_predicted_is_said_in_one_sentence(bench):
    Path("leaf.yaml").write_text(RECIPE.replace("speed: 300 mm/s, pitch: 0.1 mm, ", ""))
    code, _, err = bench("advise", "leaf.yaml")
    assert code == 1
    assert err.startswith(
        "error: without speed and pitch of 'leaf' nothing can be compared; add it"
    )
