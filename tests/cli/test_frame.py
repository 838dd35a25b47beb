"""``evenmark frame`` as a person runs it."""

from __future__ import annotations

import pytest

from tests.cli.inside import evenmark

RECIPE = """recipe: 1
design: leaf.svg
part: {outline: [90 mm, 60 mm]}
settings: {engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.1 mm}}
passes: []
"""


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "leaf.yaml").write_text(RECIPE)
    return lambda *arguments: evenmark(monkeypatch, capsys, "frame", *arguments)


def test_without_a_recipe_the_window_suits_the_usual_plate(run, tmp_path) -> None:
    assert run("-o", "f.svg").code == 0
    svg = (tmp_path / "f.svg").read_text()
    assert "window 75 × 55 mm" in svg
    assert 'width="210mm" height="297mm"' in svg


def test_the_window_suits_the_part_of_a_recipe(run, tmp_path) -> None:
    assert run("leaf.yaml", "--paper", "letter").code == 0
    page = (tmp_path / "frame.html").read_text()
    assert "window 105 × 75 mm" in page
    assert "size: 215.9mm 279.4mm" in page


def test_the_same_page_each_time(run, tmp_path) -> None:
    run("--part", "80x50mm", "-o", "a.svg")
    run("--part", "80x50mm", "-o", "b.svg")
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (["--part", "300x200mm"], 1, "does not fit on A4; take larger paper, or a window of at"),
        (["--part", "20"], 2, "write width and height"),
        (["leaf.svg"], 2, "leaf.svg is a drawing"),
        (["no.yaml"], 1, "there is no such file"),
        (["-o", "frame.png"], 1, "call it frame.svg"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(run, arguments, code, told) -> None:
    said = run(*arguments)
    assert said.code == code
    assert told in said.err
    assert "Traceback" not in said.err
