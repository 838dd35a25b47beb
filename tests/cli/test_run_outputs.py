"""Outputs of every command: checked before any work, written together, known by their digest."""

from __future__ import annotations

import ast
import hashlib
import json
import re
from pathlib import Path

import pytest

from preprocess import pipeline
from preprocess.cli import files
from preprocess.findings import warn
from tests.cli.inside import evenmark

ROOT = Path(__file__).parents[2]
LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="leaf" d="M4 10 Q20 1 36 10 Q20 19 4 10Z"/>
</svg>
"""
RECIPE = """recipe: 1
design: fern.svg
machine: {name: bench, field: [130 mm, 90 mm], spot: 0.06 mm}
part: {outline: [40 mm, 20 mm]}
settings: {engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm}}
passes: [merge]
"""
ALL = ("--overlay", "o.svg", "--sheet", "s.html", "--report", "r.json", "--depfile", "d.mk")
COMMANDS = {
    "run": ("run", "fern.yaml", "--no-heat", "-o", "l.svg", *ALL),
    "run, to a pipe": ("run", "fern.yaml", "--no-heat", "-o", "-", *ALL),
    "jig": ("jig", "fern.yaml", "-o", "card.svg"),
    "compare": ("compare", "fern.svg", "moth.svg", "-o", "c.svg"),
    "start": ("start", "fern.svg", "-o", "first.yaml"),
    "coupon": ("coupon", "fern.yaml", "power-speed", "--plate", "60x40mm", "-o", "c.svg"),
    "run, with its page": ("run", "fern.yaml", "-o", "l.svg", "--page", "p.html", *ALL),
    "predict": ("predict", "fern.yaml", "--map", "m.svg", "--report", "r.json", "--page", "p.html"),
    "series": ("series", "fern.yaml", "fern.svg", "-d", ".", "--no-heat", "--sheet", "--report"),
}
UNWRITABLE = {
    "run": [("run", "fern.yaml", *ALL[:n], "none/x", *ALL[n + 1 :]) for n in range(1, 8, 2)],
    "page": [
        ("run", "fern.yaml", "--page", "none/p.html"),
        ("predict", "fern.yaml", "--map", "m.svg", "--page", "none/p.html"),
    ],
    "predict": [("predict", "fern.yaml", "--map", "m.svg", "--report", "none/r.json")],
    "coupon": [("coupon", "fern.yaml", "row-span", "-o", "none/c.svg")],
    "fit": [
        ("fit", "g.grades.csv", "-o", "p.yaml", "--plot", "none/p.svg"),
        ("fit", "g.grades.csv", "-o", "p.yaml", "--next", "none/n.svg"),
    ],
    "jig": [("jig", "fern.yaml", "-o", "none/card.svg")],
    "compare": [("compare", "fern.svg", "moth.svg", "-o", "none/c.svg")],
    "start": [("start", "fern.svg", "-o", "none/first.yaml")],
    "advise": [("advise", "fern.yaml", "--write", "w.yaml", "--report", "none/r.json")],
    "check": [("check", "--against", "none/r.json")],
}


@pytest.fixture
def bed(tmp_path, monkeypatch):
    for name in ("fern", "moth"):
        (tmp_path / f"{name}.svg").write_text(LABEL, "utf-8")
    (tmp_path / "fern.yaml").write_text(RECIPE, "utf-8")
    (tmp_path / "g.grades.csv").write_text("cell,grade\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def call(monkeypatch, capfd):
    def run(*arguments: str) -> tuple[int, str]:
        said = evenmark(monkeypatch, capfd, *arguments)
        return said.code, said.err

    return run


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.parametrize("arguments", [a for calls in UNWRITABLE.values() for a in calls])
def test_a_target_that_cannot_be_written_stops_before_any_work(bed, call, monkeypatch, arguments):
    def work(*_, **__):
        raise AssertionError("worked before the targets were checked")

    monkeypatch.setattr(files, "convert_drawing", work)
    before = contents(bed)
    code, said = call(*arguments)
    assert (code, len(said.splitlines())) == (1, 1), said
    assert "none" in said
    assert contents(bed) == before


@pytest.mark.parametrize("command", COMMANDS)
def test_a_rename_that_fails_leaves_all_old_outputs(bed, call, monkeypatch, command):
    """First all goes well; then the last rename fails, which is that of the main output."""
    before = contents(bed)
    assert call(*COMMANDS[command])[0] == 0
    names = sorted(contents(bed).keys() - before.keys() - {"series.jsonl"})
    assert names
    old = {name: f"old {name}".encode() for name in names}
    for name, data in old.items():
        (bed / name).write_bytes(data)
    does, done = Path.replace, []

    def last_fails(part: Path, target: Path):
        if part.suffix == ".part" and Path(target).name in names:
            done.append(part)
            if len(done) == len(names):
                raise OSError(5, "Input/output error")
        return does(part, target)

    monkeypatch.setattr(Path, "replace", last_fails)
    again = ("--replace",) if command in {"start", "coupon"} else ()
    code, said = call(*COMMANDS[command], *again)
    assert code == 1
    assert "cannot write here (input/output error)" in said
    assert {name: (bed / name).read_bytes() for name in names} == old
    assert not [path for path in bed.iterdir() if path.suffix in {".part", ".old"}]


def test_only_one_place_writes_files():
    """All outputs go through write/atomic.py; the log of a series only grows by a line."""
    found = set()
    for path in (ROOT / "preprocess").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Attribute) and node.attr in {"write_bytes", "write_text"}:
                found.add(path.relative_to(ROOT / "preprocess").as_posix())
    assert found == {"write/atomic.py"}


def test_the_page_of_a_run_and_of_a_prediction_play_the_same_job(bed, call):
    """Their heat may differ in detail; rows and outlines are those of one schedule."""
    assert call("run", "fern.yaml", "-o", "l.svg", "--also", "page")[0] == 0
    assert call("predict", "fern.yaml", "--page", "p.html")[0] == 0
    one, other = ((bed / name).read_text("utf-8") for name in ("l.playback.html", "p.html"))
    blocks = [re.search(r'id="data">(.*?)<', page)[1] for page in (one, other)]
    assert blocks[0] == blocks[1]


@pytest.mark.parametrize(
    "arguments",
    [
        ("run", "fern.yaml", "-o", "l.svg", "--page", "p.html"),
        ("run", "fern.yaml", "-o", "l.svg", "--also", "page"),
        ("series", "fern.yaml", "fern.svg", "-d", ".", "--also", "page"),
    ],
)
def test_a_page_without_heat_is_refused_before_any_work(bed, call, arguments):
    before = contents(bed)
    code, said = call(*arguments, "--no-heat")
    assert code == 2
    assert "--page: the page plays heat back; leave out --no-heat" in said
    assert contents(bed) == before


def test_a_series_writes_a_page_of_each_design(bed, call):
    assert call("series", "fern.yaml", "fern.svg", "-d", "out", "--also", "page")[0] == 0
    assert b"the beam played back" in (bed / "out" / "fern.playback.html").read_bytes()


def test_report_and_sheet_name_the_svg_they_belong_to(bed, call):
    (bed / "papers").mkdir()
    papers = ("--sheet", "papers/s.html", "--report", "papers/r.json")
    assert call("run", "fern.yaml", "--no-heat", "-o", "l.svg", *papers)[0] == 0
    digest = hashlib.sha256((bed / "l.svg").read_bytes()).hexdigest()
    report = json.loads((bed / "papers" / "r.json").read_text("utf-8"))
    assert report["output"] == {"file": "../l.svg", "sha256": digest}
    assert f"belongs to ../l.svg with the SHA-256 {digest}" in (
        (bed / "papers" / "s.html").read_text("utf-8")
    )
    assert call("check", "--against", "papers/r.json") == (
        0,
        "papers/../l.svg belongs to papers/r.json\n",
    )
    assert call("check", "l.svg", "--against", "papers/r.json")[0] == 0
    (bed / "l.svg").write_bytes((bed / "l.svg").read_bytes() + b"\n")
    code, said = call("check", "l.svg", "--against", "papers/r.json")
    assert code == 1
    assert said == (
        "error: l.svg: this is not the file that papers/r.json tells of: changed, or of another "
        "run; run evenmark again, and keep what it writes\n"
    )


@pytest.mark.usefixtures("bed")
def test_a_series_names_its_svg_too(call):
    assert call(*COMMANDS["series"])[0] == 0
    assert call("check", "--against", "fern.report.json")[0] == 0


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"output": 3}', '{"output": {"file": "l.svg"}}'])
def test_what_is_no_report_is_told(bed, call, text):
    (bed / "r.json").write_text(text, "utf-8")
    code, said = call("check", "--against", "r.json")
    assert (code, len(said.splitlines())) == (1, 1)
    assert "this is no report" in said


@pytest.mark.usefixtures("bed")
def test_check_needs_a_recipe_or_a_report(call):
    assert call("check")[0] == 2
    assert call("check", "fern.yaml", "fern.svg", "--against", "r.json")[0] == 2


def test_the_next_coupon_loses_no_grades(bed):
    """A coupon that was graded is never overwritten by the proposal for another."""
    files.keep_grades({bed / "new.grades.csv": b"cell,grade\n"}, "x")
    files.keep_grades({bed / "g.grades.csv": b"cell,grade\n"}, "x")
    with pytest.raises(Exception, match="this grade table exists already; name another"):
        files.keep_grades({bed / "g.grades.csv": b"cell\n"}, "name another")


@pytest.mark.parametrize(
    ("more", "first"),
    [((), True), (("--quiet",), True), (("--strict",), False), (("--report", "r.json"), False)],
)
def test_an_svg_that_stands_alone_is_on_disk_before_the_heat_is_computed(
    bed, call, monkeypatch, more, first
):
    """Outputs that belong together appear together; of a strict run, heat decides whether."""
    seen = []
    does = pipeline.predict_both

    def looking(*given):
        seen.append((bed / "l.svg").exists())
        return does(*given)

    monkeypatch.setattr(pipeline, "predict_both", looking)
    assert call("run", "fern.yaml", "-o", "l.svg", *more)[0] == 0
    assert seen == [first]
    assert (bed / "l.svg").exists()


def test_nothing_is_written_of_a_strict_run_whose_heat_is_warned_of(bed, call, monkeypatch):
    def warned(*_):
        return (warn("too-heavy", "0.8 mm² of leaf may be too heavy", "lower the power"),)

    monkeypatch.setattr(pipeline, "prediction_findings", warned)
    before = contents(bed)
    code, said = call("run", "fern.yaml", "-o", "l.svg", "--strict")
    assert code == 1
    assert "may be too heavy" in said
    assert contents(bed) == before
