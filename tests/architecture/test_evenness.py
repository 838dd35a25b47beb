"""docs/project/evenness.md is fresh, and its words hold against an earlier calculation of ours."""

from __future__ import annotations

import pytest

from tests.evenness import ARTS, Run, compared, expected, held, key_of, line_of, studied

QUICK = {"comb, 24 mm, teeth of 1 mm", "ring, 16 mm, 2 mm wide", "lettering, 6 mm high"}
COSTLY = {"bars until 10 %", "both, 3 levels by row span"}
SAMPLE = [
    *(run for run in compared() if run.art in QUICK and run.own and run.remedy not in COSTLY),
    *(run for run in compared() if "lettering" in run.art and run.remedy in COSTLY),
    studied()[0],
]
"""Rows that are simulated anew here; `python -m tests.evenness` does all of them."""


def name(run: Run) -> str:
    return f"{run.art}, {run.part}, {run.remedy}"


@pytest.mark.parametrize("run", SAMPLE, ids=name)
def test_rows_of_the_page_are_fresh(run: Run) -> None:
    key, line = expected(run)
    assert held()[key] == line


def test_the_page_has_every_row_and_no_other() -> None:
    runs = [(run.remedy,) for run in studied()]
    runs += [(run.art, run.part, run.remedy) for run in compared()]
    rows = [key for key in held() if key[0] not in {"triangle", "art", "---"}]
    assert rows == runs
    assert {key[0] for key in rows if len(key) > 1} == set(ARTS) - {studied()[0].art}


def test_all_runs_of_the_study_are_reached() -> None:
    """Row medians, largest over median: no worse than then by more than half a percent."""
    for run in studied():
        cells = held()[(run.remedy,)].split("|")
        study, here = (float(cell.split("/")[0]) for cell in cells[2:4])
        assert here <= study + 0.006, run.remedy
        assert here >= study - 0.05, run.remedy


def figures(art: str, part: str, remedy: str) -> list[float]:
    (key,) = [k for k in held() if len(k) > 1 and k[0].startswith(art) and k[1:] == (part, remedy)]
    return [float(cell) for cell in held()[key].split("|")[4:10]]


ROWS, VARIATION, PLACES, INDEX, SECONDS, BACKING = range(6)


@pytest.mark.parametrize("art", ["blade", "comb"])
@pytest.mark.parametrize("part", ["own shape", "label"])
def test_each_remedy_makes_tapering_art_more_even(art: str, part: str) -> None:
    plain = figures(art, part, "as drawn")
    for remedy in ("3 levels by heat, solved", "bars until 10 %", "bars beside all rows"):
        better = figures(art, part, remedy)
        assert better[ROWS] <= 1.1 < plain[ROWS]
        assert better[VARIATION] < plain[VARIATION]


@pytest.mark.parametrize("art", ["blade", "comb"])
def test_bars_cost_more_beside_a_wide_part(art: str) -> None:
    own, label = (figures(art, part, "bars beside all rows") for part in ("own shape", "label"))
    assert label[SECONDS] > 1.1 * own[SECONDS]
    until = figures(art, "label", "bars until 10 %")
    assert until[SECONDS] < 0.7 * label[SECONDS]
    assert until[BACKING] < 0.2 * label[BACKING]


def test_dots_apart_get_hotter_and_ends_of_two_way_rows_too() -> None:
    """By finite volumes a square of 4 mm alone is 1.12 times as hot as one among others."""
    together, alone = (figures("dots", "own shape", r) for r in ("as drawn", "each dot apart"))
    assert alone[INDEX] / together[INDEX] == pytest.approx(1.12, abs=0.02)
    assert figures("dots", "own shape", "two-way instead")[PLACES] > together[PLACES] + 0.1


def test_the_key_of_a_row_is_found_in_it() -> None:
    run = compared()[0]
    assert key_of("| a | b | c | d |", with_study=False) == ("a", "b", "c")
    assert key_of(f"| {run.remedy} | x |", with_study=True) == (run.remedy,)
    assert line_of
