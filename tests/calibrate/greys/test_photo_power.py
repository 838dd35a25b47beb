"""Pairs of greys that photos tell: from tones by hand, and from a photo made by calculation."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from preprocess.calibrate.greys.grey_pairs import read_pairs
from preprocess.calibrate.greys.machine_text import read_machine
from preprocess.calibrate.greys.photo_power import photo_powers
from preprocess.coupon.artwork.build import build
from preprocess.coupon.artwork.grey_steps import step_greys
from preprocess.coupon.design.definition import read_definition
from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace
from preprocess.photo.measured_file import measured_bytes
from tests.cli.inside import evenmark
from tests.photos.__main__ import frame_of
from tests.photos.known import known_photo
from tests.photos.scenes import PLATE, Coupons, coupon_scene

FOLDER = Path(__file__).parents[3] / "fixtures" / "coupons"
COUPON = build(read_definition(FOLDER / "grey-steps.coupon.yaml"))
POWERS = {"A": 0.12, "B": 0.18, "C": 0.24, "D": 0.30, "E": 0.37, "F": 0.45}
CLEAR = {"glare": 0.0, "blur": 0.7, "exposure": 0.75, "curve": 0.3}


def measured(tones, sd=0.3):
    places = tuple(
        MeasuredPlace(cell=cell, tone=tone, ln_ratio=0.0, sd=sd) for cell, tone in tones.items()
    )
    photos = (known_photo("grey.jpg", "0" * 64),)
    return MeasuredCoupon(coupon=COUPON.id, ground=40.0, photos=photos, places=places)


def power(tone, squares):
    """Of the first grey, where squares A, B and so on have these tones, and all others A's."""
    tones = dict.fromkeys("2345678", squares[0]) | dict(zip("ABCDEF", squares, strict=False))
    return photo_powers(COUPON, measured(tones | {"1": tone})).get("1")


def test_squares_of_known_power_are_known() -> None:
    assert {one.name: one.power for one in COUPON.beside} == POWERS


@pytest.mark.parametrize("way", [1, -1])
def test_a_tone_between_two_squares_tells_the_power_between(way) -> None:
    tones = [way * one for one in (6, 12, 18, 24, 31, 38)]
    assert power(way * 12, tones)[0] == pytest.approx(0.18)
    assert power(way * 15, tones)[0] == pytest.approx(0.21)
    found, sigma = power(way * 21, tones)
    assert found == pytest.approx(0.27)
    # by hand: errors of its tone and of half of each square's, over 6 ΔL* to a step of 6 %;
    # and a twentieth of the step
    by_tone = 0.3 * (1 + 0.25 + 0.25) ** 0.5 / 6 * 0.06
    assert sigma == pytest.approx((by_tone**2 + 0.003**2) ** 0.5)
    assert power(way * 40.0, tones)[0] == pytest.approx(0.45 + 2 / 7 * 0.08)


@pytest.mark.parametrize(
    ("tone", "squares"),
    [
        (42.0, (6, 12, 18, 24, 31, 38)),  # stronger than F by more than half a step
        (2.0, (6, 12, 18, 24, 31, 38)),  # weaker than A
        (38.2, (6, 12, 18, 37.8, 38.1, 38.4)),  # D, E and F look alike
        (9.0, (6, 12)),  # two squares tell no course
    ],
)
def test_what_no_square_tells_is_left_open(tone, squares) -> None:
    assert power(tone, squares) is None


@pytest.mark.parametrize(("seen", "told"), [(5, True), (4, False)])
def test_a_lamp_over_more_than_a_third_of_the_squares_tells_nothing(seen, told) -> None:
    tones = dict(zip("ABCDEF", (6, 12, 18, 24, 31, 38), strict=True))
    tones |= {str(n + 1): 15.0 for n in range(seen)}  # with the six, 11 or 10 of 16
    assert bool(photo_powers(COUPON, measured(tones))) is told


def test_squares_that_were_asked_for_strongest_first_tell_the_same() -> None:
    tones = dict.fromkeys("2345678", 6.0) | {"1": 15.0}
    tones |= dict(zip("ABCDEF", (6, 12, 18, 24, 31, 38), strict=True))
    turned = replace(COUPON, beside=COUPON.beside[::-1])
    assert photo_powers(turned, measured(tones)) == photo_powers(COUPON, measured(tones))


def test_squares_in_the_wrong_order_by_noise_still_tell() -> None:
    assert power(20.0, (6, 12, 18, 17.8, 31, 38))[0] == pytest.approx(0.32, abs=0.01)


def test_what_a_person_wrote_stays_and_the_photo_tells_the_rest(tmp_path) -> None:
    shutil.copy(FOLDER / "grey-steps.coupon.yaml", tmp_path)
    rows = list(csv.reader((FOLDER / "grey-steps.grades.csv").read_text("utf-8").splitlines()))
    for number, answer in ((1, "B"), (2, "-")):
        rows[number][-1] = answer
    table = tmp_path / "grey-steps.grades.csv"
    table.write_text("".join(",".join(row) + "\n" for row in rows), "utf-8")
    tones = dict(zip("ABCDEF", (6, 12, 18, 24, 31, 38), strict=True))
    tones |= {"1": 30.0, "2": 30.0, "3": 15.0, "4": 60.0, "5": 60.0}
    (tmp_path / "grey-steps.measured.json").write_bytes(measured_bytes(measured(tones)))
    pairs = read_pairs(table)
    assert [(pair.grey, pair.by_photo) for pair in pairs] == [(254, False), (198, True)]
    assert [pair.power for pair in pairs] == pytest.approx([0.18, 0.21])


def power_of(grey, low, high, gamma):
    return low + (high - low) * ((254 - grey) / 254) ** gamma


def test_a_photo_of_the_coupon_tells_the_curve(tmp_path, monkeypatch, capsys) -> None:
    true = 0.13, 0.44, 1.4
    drawn = Coupons((FOLDER / "grey-steps.svg").read_text("utf-8"))
    powers = POWERS | {str(n): power_of(g, *true) for n, g in enumerate(step_greys(), 1)}
    tones = {f"cell-{name}": 1 - np.exp(-((p / 0.3) ** 2.2)) for name, p in powers.items()}
    rng = np.random.default_rng(21)
    shot = coupon_scene(rng, frame_of(PLATE), drawn, tones, wide=1200, conditions=CLEAR).shot
    (tmp_path / "grey.jpg").write_bytes(shot.data)
    for ending in ("coupon.yaml", "grades.csv"):
        shutil.copy(FOLDER / f"grey-steps.{ending}", tmp_path)
    monkeypatch.chdir(tmp_path)
    said = evenmark(monkeypatch, capsys, "measure", "grey-steps.coupon.yaml", "grey.jpg")
    assert said.code == 0, said.err
    assert {"A", "F", "1", "10"} <= {line.split()[0] for line in said.out.splitlines() if line}
    said = evenmark(monkeypatch, capsys, "fit", "grey-steps.grades.csv", "-o", "bench.yaml")
    assert said.code == 0, said.err
    assert "Photos told" in said.out
    pairs = read_pairs(tmp_path / "grey-steps.grades.csv")
    assert len(pairs) == 10
    for pair in pairs:  # within three standard deviations, and closer than an eye's half step
        off = abs(pair.power - power_of(pair.grey, *true))
        assert off < min(3**0.5 * pair.within, 0.03)
    machine = read_machine(tmp_path / "bench.yaml")[1].grey
    ends = machine.intervals.from_, machine.intervals.to, machine.intervals.gamma
    assert all(low <= one <= high for one, (low, high) in zip(true, ends, strict=True))
    for grey in step_greys():
        found = power_of(grey, machine.from_, machine.to, machine.gamma)
        assert found == pytest.approx(power_of(grey, *true), abs=0.03)
