"""From pairs of squares to the curve of the greys: against curves, scipy, and by hand."""

from __future__ import annotations

import csv
import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import curve_fit

from preprocess.calibrate.greys.curve_fit import fit_curve as fitted
from preprocess.calibrate.greys.grey_pairs import GreyPair, is_grey_table, read_pairs
from preprocess.calibrate.greys.machine_text import with_grey
from preprocess.cli.app import main
from preprocess.coupon.artwork.grey_steps import step_greys
from preprocess.errors import UserError
from preprocess.model.bench.machine import Grey

FOLDER = Path(__file__).parents[3] / "fixtures" / "coupons"
POWERS = (0.12, 0.18, 0.24, 0.30, 0.37, 0.45)
"""Of squares A to F of the fixture."""


def power_of(grey, low, high, gamma):
    return low + (high - low) * ((254 - grey) / 254) ** gamma


def table(folder, answers):
    """The fixture's table, filled in."""
    rows = list(csv.reader((FOLDER / "grey-steps.grades.csv").read_text("utf-8").splitlines()))
    shutil.copy(FOLDER / "grey-steps.coupon.yaml", folder)
    for row, answer in zip(rows[1:], answers, strict=True):
        row[-1] = answer
    path = folder / "grey-steps.grades.csv"
    with path.open("w", newline="", encoding="utf-8") as held:
        csv.writer(held).writerows(rows)
    return path


def answer(power):
    """What a careful eye writes: the nearest letter or pair of letters; nothing beyond them."""
    if not POWERS[0] * 0.9 < power < POWERS[-1] * 1.1:
        return ""
    both = [(abs(p - power), "ABCDEF"[n]) for n, p in enumerate(POWERS)]
    both += [
        (abs((a + b) / 2 - power), "ABCDEF"[n : n + 2]) for n, (a, b) in enumerate(pairwise(POWERS))
    ]
    return min(both)[1]


@pytest.mark.parametrize(
    ("low", "high", "gamma"),
    [(0.12, 0.45, 1.0), (0.10, 0.42, 1.5), (0.15, 0.46, 0.7), (0.11, 0.44, 2.2)],
)
def test_the_curve_is_found_within_its_intervals(tmp_path, low, high, gamma):
    answers = [answer(power_of(grey, low, high, gamma)) for grey in step_greys()]
    found = fitted(read_pairs(table(tmp_path, answers))).grey
    sure = found.intervals
    assert sure.from_[0] <= low <= sure.from_[1]
    assert sure.to[0] <= high <= sure.to[1]
    assert sure.gamma[0] <= gamma <= sure.gamma[1]
    # what the curve is for: the power of the greys between, within half a step of the squares
    for grey in range(0, 255, 20):
        wanted = power_of(grey, low, high, gamma)
        assert power_of(grey, found.from_, found.to, found.gamma) == pytest.approx(wanted, abs=0.02)


def test_exact_pairs_agree_with_least_squares_of_scipy():
    rng = np.random.default_rng(2)
    greys = np.array(step_greys())
    power = power_of(greys, 0.1, 0.7, 1.3) + rng.normal(0, 0.004, len(greys))
    pairs = [
        GreyPair(g, p, 0.004 * 3**0.5) for g, p in zip(greys.tolist(), power.tolist(), strict=True)
    ]
    wanted, cov = curve_fit(power_of, greys, power, (0.1, 0.7, 1.0), np.full(len(greys), 0.004))
    found = fitted(pairs).grey
    assert (found.from_, found.to) == pytest.approx(wanted[:2], abs=0.003)
    assert found.gamma == pytest.approx(wanted[2], abs=0.03)
    # 90 % of a Gaussian lie within 1.645 standard deviations
    wide = found.intervals.gamma[1] - found.intervals.gamma[0]
    assert wide == pytest.approx(2 * 1.645 * cov[2, 2] ** 0.5, rel=0.25)


def test_between_two_letters_is_half_way_and_surer(tmp_path):
    answers = ["A", "ab", "B-C", "", "-", "D", "", "E", "FE", "F"]
    pairs = read_pairs(table(tmp_path, answers))
    assert [pair.grey for pair in pairs] == [254, 226, 198, 113, 56, 28, 0]
    powers = [pair.power for pair in pairs]
    assert powers == pytest.approx([0.12, 0.15, 0.21, 0.3, 0.37, 0.41, 0.45])
    assert pairs[0].within == pytest.approx(0.03)  # half of the way from A to B
    assert pairs[1].within == pytest.approx(0.015)
    assert pairs[3].within == pytest.approx((0.06 + 0.07) / 2 / 2)


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        (["H", *[""] * 9], "'H' names no square"),
        (["AC", *[""] * 9], "'AC' names no square"),
        (["?", *[""] * 9], "names no square"),
        (["A", "B", "C", *[""] * 7], "3 squares of greys have an equal"),
        (["A", "A", "A", "B", "B", *[""] * 5], "at 2 powers"),
        (list("FFEEDDCCBA"), "not matched with stronger squares"),
    ],
)
def test_what_tells_no_curve_is_refused(tmp_path, answers, words):
    with pytest.raises(UserError, match=words):
        fitted(read_pairs(table(tmp_path, answers)))


def test_a_table_without_its_definition_is_refused(tmp_path):
    path = table(tmp_path, ["A", *[""] * 9])
    (tmp_path / "grey-steps.coupon.yaml").unlink()
    with pytest.raises(UserError, match="is defined beside the table"):
        read_pairs(path)


def test_only_tables_of_greys_are_such():
    assert is_grey_table(FOLDER / "grey-steps.grades.csv")
    assert not is_grey_table(FOLDER / "row-span.grades.csv")


CURVE = Grey(from_=0.1, to=0.8, gamma=1.2)
SAID = "grey: {from: 10 %, to: 80 %, gamma: 1.2}\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("# mine\nname: galvo  # small\n", f"# mine\nname: galvo  # small\n{SAID}"),
        ("name: galvo", f"name: galvo\n{SAID}"),
        ("grey: {from: 1 %, to: 2 %, gamma: 1}\nname: galvo\n", f"{SAID}name: galvo\n"),
        ("a: 1\ngrey:\n  from: 1 %\n  to: 2 %\n  gamma: 1\nb: 2\n", f"a: 1\n{SAID}b: 2\n"),
        ("", f"machine: 1\n{SAID}"),
    ],
)
def test_the_rest_of_the_machine_file_stays(before, after):
    assert with_grey(before, CURVE) == after


def test_the_command_writes_the_curve_and_nothing_else(tmp_path, monkeypatch, capsys):
    answers = [answer(power_of(grey, 0.12, 0.45, 1.0)) for grey in step_greys()]
    table(tmp_path, answers)
    bench = tmp_path / "bench.yaml"
    bench.write_text("# the small one\nname: bench galvo\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    command = ["evenmark", "fit", "grey-steps.grades.csv", "-o", "bench.yaml"]
    monkeypatch.setattr("sys.argv", command)
    with pytest.raises(SystemExit) as ended:
        main()
    assert not ended.value.code
    assert "90 of 100 cases" in capsys.readouterr().out
    text = bench.read_text("utf-8")
    assert text.startswith("# the small one\nname: bench galvo\ngrey: {from: ")
    assert "intervals" in text
    monkeypatch.setattr("sys.argv", [*command, "--name", "moss"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 1
    assert "tells of the machine, not of a filament" in capsys.readouterr().err
