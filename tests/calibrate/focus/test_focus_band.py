"""Sharp steps of a stair to in_focus, compared with a beam whose width is known."""

from __future__ import annotations

import csv
import json
import math
import re
import shutil

import pytest

from preprocess.__main__ import main
from preprocess.calibrate.focus.focus_band import band_sentences, is_focus_table, read_focus_band
from preprocess.errors import UserError
from tests.coupon.drawn import FOLDER

STEPS = [2 - n / 4 for n in range(17)]


def table(folder, answers, separator=","):
    """The table of the coupon in fixtures, with an answer to each step from the highest on."""
    rows = list(csv.reader((FOLDER / "focus-steps.grades.csv").read_text("utf-8").splitlines()))
    shutil.copy(FOLDER / "focus-steps.coupon.yaml", folder)
    assert len(answers) == len(rows) - 1
    filled = [rows[0], *([*row[:-1], said] for row, said in zip(rows[1:], answers, strict=True))]
    path = folder / "focus-steps.grades.csv"
    path.write_text("".join(separator.join(row) + "\n" for row in filled), "utf-8")
    return path


def between(low, high, outside="soft"):
    return ["sharp" if low <= step <= high else outside for step in STEPS]


def said(path):
    return " ".join(band_sentences(read_focus_band(path)))


def test_the_shorter_side_of_the_band_is_in_focus(tmp_path):
    path = table(tmp_path, between(-0.75, 1.0))
    assert read_focus_band(path).in_focus == 0.75
    assert said(path) == (
        "Sharp from −0.75 to +1.00 mm: write in_focus: 0.75 mm under part: of the recipe."
    )


@pytest.mark.parametrize(
    ("spot", "off", "in_focus"),
    [
        # π w0² / λ · √(1.05² − 1) by hand: 0.8508 mm for 0.06 mm; 0.2955 … 1.5125 for the others
        (0.06, 0.0, 0.75),
        (0.08, 0.0, 1.5),
        (0.06, 0.2, 0.5),
    ],
)
def test_an_ideal_beam_at_most_5_percent_wider(tmp_path, spot, off, in_focus):
    rayleigh = math.pi * (spot / 2) ** 2 / 0.001064
    wide = [math.sqrt(1 + ((step - off) / rayleigh) ** 2) for step in STEPS]
    answers = ["sharp" if w <= 1.05 else "soft" if w <= 1.3 else "hardly" for w in wide]
    assert read_focus_band(table(tmp_path, answers)).in_focus == pytest.approx(in_focus)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.5, 1.25, "the focus lay about 0.875 mm above the middle step. Focus that much lower"),
        (-1.5, -0.5, "the focus lay about 1 mm below the middle step. Focus that much higher"),
        (0.0, 1.0, "the focus lay about 0.5 mm above the middle step"),
        (0.0, 0.0, "Sharp at 0 mm only: mark finer steps, --lengths 0.125mm; write nothing yet"),
        (-0.25, 1.5, "in_focus: 0.25 mm .* Focused 0.625 mm lower, it would be 0.875 mm."),
        (-2.0, 2.0, "in_focus: 2 mm .* The stair ends within the band"),
    ],
)
def test_what_else_the_band_says(tmp_path, low, high, words):
    assert re.search(words, said(table(tmp_path, between(low, high))))


def test_blanks_case_and_separators_do_not_matter(tmp_path):
    answers = between(-0.5, 0.5, outside="")
    answers[7], answers[8], answers[0] = "-", " Sharp ", "HARDLY"
    band = read_focus_band(table(tmp_path, answers, separator=";"))
    assert (band.low, band.high, band.in_focus) == (-0.5, 0.5, 0.5)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (dict.fromkeys(range(17), "soft"), "no step is sharp; write sharp for the best"),
        ({7: "soft"}, "the step at \\+0.25 mm is soft, but steps above and below it are sharp"),
        ({3: "shrap"}, "csv:5: .*'shrap' is none of the words; write sharp, soft, hardly"),
    ],
)
def test_what_tells_no_band_is_refused(tmp_path, change, words):
    answers = between(-0.5, 0.5)
    for number, answer in change.items():
        answers[number] = answer
    with pytest.raises(UserError, match=words):
        read_focus_band(table(tmp_path, answers))


def test_rows_that_do_not_belong_are_refused(tmp_path):
    path = table(tmp_path, between(-0.5, 0.5))
    text = path.read_text("utf-8")
    path.write_text(text.replace(",A17,", ",A18,").replace(",A2,", ",A1,"), "utf-8")
    with pytest.raises(UserError) as refused:
        read_focus_band(path)
    found = [complaint.found for complaint in refused.value.complaints]
    assert found == ["step A1 stands in this table twice", "there is no step 'A18'"]
    (tmp_path / "focus-steps.coupon.yaml").unlink()
    with pytest.raises(UserError, match="is defined beside the table"):
        read_focus_band(path)


def test_an_empty_table_has_no_sharp_step(tmp_path):
    path = table(tmp_path, between(-0.5, 0.5))
    path.write_text(path.read_text("utf-8").split("\n")[0], "utf-8")
    with pytest.raises(UserError, match="no step is sharp"):
        read_focus_band(path)


def test_only_tables_of_stairs_are_such():
    assert is_focus_table(FOLDER / "focus-steps.grades.csv")
    assert not is_focus_table(FOLDER / "grey-steps.grades.csv")


def run(monkeypatch, *words):
    monkeypatch.setattr("sys.argv", ["evenmark", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    return ended.value.code or 0


def test_the_command_tells_it_and_writes_nothing(tmp_path, monkeypatch, capsys):
    table(tmp_path, between(-0.75, 1.0))
    monkeypatch.chdir(tmp_path)
    there = sorted(tmp_path.iterdir())
    assert run(monkeypatch, "fit", "focus-steps.grades.csv") == 0
    assert "in_focus: 0.75 mm" in capsys.readouterr().out
    assert run(monkeypatch, "fit", "focus-steps.grades.csv", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told == {"kind": "focus", "from": -0.75, "to": 1.0, "in_focus": 0.75}
    assert run(monkeypatch, "fit", "focus-steps.grades.csv", "-o", "bench.yaml") == 1
    assert "tells of the focus, not of a filament" in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == there


def test_a_recipe_with_a_model_and_no_size_gets_the_usual_stair(tmp_path, monkeypatch, capsys):
    shutil.copytree(FOLDER.parent / "jobs" / "sprout", tmp_path / "sprout")
    shutil.copytree(FOLDER.parent / "jobs" / "fern", tmp_path / "fern")
    monkeypatch.chdir(tmp_path)
    code = run(monkeypatch, "coupon", "sprout/sprout.yaml", "focus-steps", "-o", "focus.svg")
    assert code == 0, capsys.readouterr().err
    names = {path.name for path in tmp_path.iterdir() if path.is_file()}
    endings = ("svg", "coupon.yaml", "grades.csv", "coupon.html", "stair.stl")
    assert names == {f"focus.{ending}" for ending in endings}
    assert "60 mm" in (tmp_path / "focus.coupon.yaml").read_text("utf-8")
