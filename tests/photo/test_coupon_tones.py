"""Tones of coupons in photos, against the tones that were painted."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.errors import Refusal
from preprocess.photo.coupon_tones import coupon_places, photo_tones, pooled_coupon
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.tone.place_tones import tone_of
from tests.photos.__main__ import registration, truth_of


def errors(scene, reading, tones):
    kept = [tone for tone in tones if not tone.why]
    return np.array([tone_of(t.ln_ratio, reading.ground) - truth_of(scene, t.place) for t in kept])


@pytest.fixture(scope="module")
def along(bench, blades, read):
    _, _, reading = read(blades, "blades")
    return reading, photo_tones(reading, bench.places["blades"])


def test_blades_are_laid_on_their_drawing(blades, along) -> None:
    assert registration(blades, along[0], blades.shot.camera.px_per_mm) < 0.08
    assert along[0].place.match > 0.9


def test_tones_along_blades_are_those_that_were_painted(blades, along) -> None:
    off = errors(blades, *along)
    assert len(off) == 3 * 33
    assert np.sqrt((off**2).mean()) < 1.2
    assert (off - off.mean()).std() < 0.6


def test_places_along_a_blade_are_1_mm_apart_and_know_their_span(bench) -> None:
    mine = [p for p in coupon_places(bench.coupons["blades"]) if p.cell == "B1"]
    assert [p.at for p in mine[:3]] == [2.0, 3.0, 4.0]
    assert mine[-1].at <= 36 - 0.6 - 0.5
    for place in mine:
        assert place.span == pytest.approx(16 - 15 * place.at / 36, abs=1e-3)


def test_a_plate_upside_down_is_found_and_measured(bench, upside_down, read) -> None:
    _, _, reading = read(upside_down, "row-span")
    assert reading.turn == pytest.approx(178.0, abs=2.0)
    assert registration(upside_down, reading, upside_down.shot.camera.px_per_mm) < 0.06
    off = errors(upside_down, reading, photo_tones(reading, bench.places["row-span"]))
    assert len(off) == 12
    assert np.sqrt((off**2).mean()) < 1.2


def test_cells_under_a_lamp_are_left_out_and_the_others_stay_right(
    bench, under_a_lamp, read
) -> None:
    _, _, reading = read(under_a_lamp, "row-span")
    tones = photo_tones(reading, bench.places["row-span"])
    out = [t for t in tones if t.why]
    assert 1 <= len(out) <= 6
    assert {t.why for t in out} == {"a lamp is mirrored there"}
    off = errors(under_a_lamp, reading, tones)
    assert np.sqrt((off**2).mean()) < 1.5


def test_another_coupon_is_not_found(bench, upside_down, read) -> None:
    _, picture, _ = read(upside_down, "row-span")
    with pytest.raises(Refusal, match="drawing was not found"):
        read_photo(picture, bench.drawings["blades"], 3.0)


def test_pooling_two_photos_halves_the_variance_at_most(bench, along) -> None:
    reading, tones = along
    one = pooled_coupon(bench.coupons["blades"], [reading], [tones])
    two = pooled_coupon(bench.coupons["blades"], [reading, reading], [tones, tones])
    for a, b in zip(one.places, two.places, strict=True):
        assert b.tone == pytest.approx(a.tone)
        assert a.sd / 2**0.5 - 1e-9 <= b.sd < a.sd
    assert one.coupon == bench.coupons["blades"].id
    assert len(two.photos) == 2


def test_what_a_photo_lacks_another_may_show(bench, under_a_lamp, read) -> None:
    _, _, reading = read(under_a_lamp, "row-span")
    tones = photo_tones(reading, bench.places["row-span"])
    measured = pooled_coupon(bench.coupons["row-span"], [reading], [tones])
    assert {one.cell for one in measured.left_out} == {t.place.cell for t in tones if t.why}
    assert len(measured.places) + len(measured.left_out) == 12


def test_edges_are_told_of_cells_wide_enough(bench, upside_down, read) -> None:
    _, _, reading = read(upside_down, "row-span")
    tones = photo_tones(reading, bench.places["row-span"])
    measured = pooled_coupon(bench.coupons["row-span"], [reading], [tones])
    edges = {p.cell: p.edge for p in measured.places}
    assert edges["A4"] is None
    assert 0.1 < edges["A1"] < 0.4
