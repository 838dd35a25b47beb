"""One line of cautions where a first mark is about to be made."""

from __future__ import annotations

import pytest

from tests.cli.inside import evenmark

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
  <path id="blade" d="M3 10 Q10 3 24 9 Q12 14 3 10 Z"/>
</svg>
"""


@pytest.fixture
def told(tmp_path, monkeypatch, capsys):
    (tmp_path / "label.svg").write_text(DRAWING)
    (tmp_path / "label.yaml").write_text("recipe: 1\ndesign: label.svg\npasses: [merge]\n")
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        said = evenmark(monkeypatch, capsys, *arguments)
        assert said.code == 0
        return " ".join(said.err.split())

    return run


@pytest.mark.parametrize(
    "arguments",
    [
        ("run", "label.yaml", "--no-heat"),
        ("start", "label.svg", "-o", "first.yaml"),
        ("series", "label.yaml", "label.svg", "--folder", "out", "--workers", "1", "--no-heat"),
    ],
)
def test_cautions_are_told_once_and_not_where_nobody_reads(told, arguments):
    text = told(*arguments)
    assert text.count("before you mark:") == 1
    assert "never PVC or vinyl" in text
    assert "never bare metal" in text
    again = (*arguments, "--replace") if arguments[0] == "start" else arguments
    assert "before you mark" not in told(*again, "--quiet")
    assert "before you mark" not in told(*again, "--json")
