"""Chlorinated plastic: every command that writes something to mark stops and writes nothing."""

from __future__ import annotations

import pytest

from tests.cli.inside import evenmark

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
  <path id="blade" d="M3 10 Q10 3 24 9 Q12 14 3 10 Z"/>
</svg>
"""
RECIPE = """recipe: 1
design: label.svg
machine: {name: bench galvo, field: [60 mm, 60 mm], spot: 0.06 mm, rated_power: 3 W}
filament: {name: SPOOL, polymer: POLYMER}
part: {outline: [30 mm, 20 mm]}
settings:
  engrave: {power: 30 %, speed: 300 mm/s, pitch: 0.1 mm, direction: one-way}
  score: {power: 20 %, speed: 250 mm/s}
  cut: {power: 90 %, speed: 20 mm/s}
passes: [merge]
"""
COMMANDS = [
    ("run", "label.yaml", "--overlay", "o.svg", "--sheet", "s.html", "--report", "r.json"),
    ("run", "label.yaml", "--no-heat", "--quiet"),
    ("run", "label.yaml", "-o", "-"),
    ("coupon", "label.yaml", "power-speed", "--plate", "60x40mm"),
    ("coupon", "label.yaml", "score-depth", "--plate", "60x40mm", "--quiet"),
    ("jig", "label.yaml"),
    ("advise", "label.yaml", "--write", "new.yaml"),
    ("check", "label.yaml"),
    ("predict", "label.yaml", "--map", "m.svg"),
    ("series", "label.yaml", "label.svg", "--folder", "out", "--workers", "1"),
]


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    (tmp_path / "label.svg").write_text(DRAWING)
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)

    def run(spool, polymer, *arguments):
        text = RECIPE.replace("SPOOL", spool).replace("POLYMER", polymer)
        (tmp_path / "label.yaml").write_text(text)
        said = evenmark(monkeypatch, capsys, *arguments)
        files = {path.name for path in tmp_path.rglob("*") if path.is_file()}
        return said.code, said, files - {"label.svg", "label.yaml"}

    return run


@pytest.mark.parametrize("arguments", COMMANDS, ids=lambda arguments: " ".join(arguments[:3]))
def test_nothing_to_mark_is_written_for_pvc(bench, arguments):
    code, told, written = bench("grey", "PVC", *arguments)
    assert code == 1
    assert "'PVC' names a chlorinated plastic" in told.err
    assert written <= {"series.jsonl"}  # the log of a series tells what failed
    assert not told.out.strip().startswith("<")


def test_the_name_of_the_spool_counts_as_well(bench):
    code, told, written = bench("matt black vinyl", "PLA", "run", "label.yaml", "--no-heat")
    assert (code, written) == (1, set())
    assert "never mark it" in told.err


def test_other_plastic_is_written(bench):
    code, told, written = bench("grey", "PETG", "run", "label.yaml", "--no-heat")
    assert (code, written) == (0, {"label.laser.svg"})
    assert "chlorinated plastic" not in told.err
    code, _, written = bench(
        "PVB clear", "pla", "coupon", "label.yaml", "row-span", "--plate", "60x40mm"
    )
    assert (code, len(written)) == (0, 5)
