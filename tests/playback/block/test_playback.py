"""The block holds what the schedule says: rows, light, parts, lines, index and facts."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.playback.block.playback import MOST, packed, playback_of
from tests import playback_blocks as blocks
from tests.playback_jobs import JOBS, dots_job, idle_job, playback_job

UNIT = 0.00201
"""mm: half of the block's unit of length for a set and half for a place in it, and a little."""


def block_of(name: str) -> tuple[dict, bytes]:
    return blocks.unpacked(*packed(playback_of(*playback_job(name))))


@pytest.mark.parametrize("name", JOBS)
def test_rows_and_light_are_those_of_the_schedule(name) -> None:
    head, data = block_of(name)
    for side, prediction in zip(head["sides"], playback_job(name)[1], strict=True):
        found = blocks.sets(side, data)
        which = blocks.column(side, data, "visit_set").astype(int)
        swept = [found[n] for n in which if found[n]["style"]["kind"] == "rows"]
        wanted = [
            visit.timed for visit in prediction.schedule.visits if visit.timed.runs is not None
        ]
        assert len(swept) == len(wanted)
        for one, timed in zip(swept, wanted, strict=True):
            np.testing.assert_allclose(one["v"], timed.spans.v, atol=UNIT, rtol=0)
            np.testing.assert_array_equal(one["forward"], timed.forward)
            assert one["style"]["speed"] == timed.speed
            first = np.flatnonzero(np.diff(one["row"], prepend=-1))
            np.testing.assert_allclose(one["start"][first], timed.spans.start, atol=UNIT)
            lit = np.bincount(one["row"], one["end"] - one["start"])
            pieces = np.bincount(one["row"])
            assert (np.abs(lit - timed.spans.lit) <= 2 * UNIT * pieces).all()


@pytest.mark.parametrize("name", JOBS)
def test_visits_begin_and_end_when_the_schedule_says(name) -> None:
    head, data = block_of(name)
    for side, prediction in zip(head["sides"], playback_job(name)[1], strict=True):
        begins = 1e-5 * blocks.column(side, data, "visit_begins")
        ends = begins + 1e-5 * blocks.column(side, data, "visit_lasts")
        known = prediction.schedule.visits
        assert begins[0] == 0
        for visit in known:
            assert np.abs(begins - visit.begins).min() < 0.51e-5
        assert ends[-1] == pytest.approx(known[-1].ends, abs=2e-5)
        assert side["total"] == pytest.approx(known[-1].ends, rel=1e-8)


def test_light_beside_the_part_and_bars_warm_nothing() -> None:
    """The label ends at x = 10 mm; the leaf from 6 to 14 mm is cut there, the other lies off."""
    head, data = block_of("over-the-edge")
    one, other = (s for s in blocks.sets(head["sides"][0], data) if s["style"]["kind"] == "rows")
    warm = one["part"] == 1
    assert one["end"][warm].max() == pytest.approx(10.0, abs=UNIT)
    assert one["start"][~warm].min() == pytest.approx(10.0, abs=UNIT)
    assert (other["part"] == 0).all()
    assert other["style"]["energy"] == 0


def test_rows_across_a_tray_warm_each_part_with_its_own_leaves() -> None:
    """Copies 34 mm apart; what lies within neither label is bars."""
    head, data = block_of("tray")
    after = head["sides"][1]
    labels = [np.reshape(rings[0], (-1, 2)) for rings in after["parts"]]
    assert len(labels) == 2
    assert labels[1][:, 0].min() - labels[0][:, 0].min() == pytest.approx(34.0, abs=0.02)
    (swept,) = (s for s in blocks.sets(after, data) if s["style"]["kind"] == "rows")
    for part, label in enumerate(labels, 1):
        mine = swept["part"] == part
        assert mine.any()
        assert swept["start"][mine].min() >= label[:, 0].min()
        assert swept["end"][mine].max() <= label[:, 0].max()
    beside = swept["part"] == 0
    middle = (swept["start"] + swept["end"])[beside] / 2
    inside = [(label[:, 0].min() < middle) & (middle < label[:, 0].max()) for label in labels]
    assert beside.any()
    assert not np.any(inside)


def test_own_rows_are_rows_and_other_lines_are_traced() -> None:
    head, data = block_of("own-rows")
    kinds = [one["style"]["kind"] for one in blocks.sets(head["sides"][1], data)]
    assert kinds.count("own rows") == 3 * 2  # three rounds in each of two leaves
    (vein,) = (s for s in blocks.sets(head["sides"][1], data) if s["style"]["kind"] == "scored")
    np.testing.assert_allclose(vein["lines"][0], [[6, 5], [3, 6]], atol=UNIT)


def test_the_index_is_that_of_the_prediction() -> None:
    head, data = block_of("rounds")
    for side, prediction in zip(head["sides"], playback_job("rounds")[1], strict=True):
        index = side["cells"]["unit"] * blocks.column(side, data, "cell_index")
        images = prediction.heat.images
        wanted = np.concatenate([image.index[image.lit] for image in images])
        np.testing.assert_allclose(index, wanted, atol=side["cells"]["unit"] / 2 + 1e-9, rtol=0)
        left = blocks.column(side, data, "image_first") + side["cells"]["first"]
        width = np.take(
            side["cells"]["widths"], blocks.column(side, data, "image_width").astype(int)
        )
        np.testing.assert_allclose(left * width / 2, [image.u[0] for image in images], atol=1e-6)


def test_outlines_are_those_of_the_drawing() -> None:
    """The leaf runs from x = 6 to 14 mm; its tips are corners, which no simplifying moves."""
    head, data = block_of("speeds")
    side = head["sides"][0]
    points = blocks.column(side, data, "ring_points").astype(int)
    x = side["corner"][0] + 0.01 * blocks.column(side, data, "shape_x")
    rings = np.split(x, np.cumsum(points)[:-1])
    widths = sorted((round(float(r.min()), 2), round(float(r.max()), 2)) for r in rings)
    assert (6.0, 14.0) in widths
    assert (14.0, 22.0) in widths


@pytest.mark.parametrize("name", ["own-rows", "tray"])
def test_the_same_job_gives_the_same_bytes(name) -> None:
    job = playback_job(name)
    assert packed(playback_of(*job)) == packed(playback_of(*job))


@pytest.mark.parametrize(("name", "most"), [("rounds", 7500), ("greys", 10_000)])
def test_a_block_that_must_be_small_keeps_all_light(name, most) -> None:
    """Energy per part stays, to a thousandth; what was left out is told; it fits."""
    job = playback_job(name)
    whole, small = playback_of(*job), playback_of(*job, most=most)
    assert sum(map(len, packed(whole))) > most
    assert sum(map(len, packed(small))) <= most
    assert whole.head["simplified"] == []
    assert small.head["simplified"]
    for one, other in zip(whole.head["sides"], small.head["sides"], strict=True):
        wanted, found = (_light(s, p.data) for s, p in ((one, whole), (other, small)))
        np.testing.assert_allclose(found, wanted, rtol=1e-3)


def _light(side: dict, data: bytes) -> np.ndarray:
    """Length times light of all pieces, by part."""
    long, part = (blocks.column(side, data, name) for name in ("piece_long", "piece_part"))
    light = blocks.column(side, data, "piece_light") / 1e4
    weight = long * light if len(light) else long
    return np.bincount(part.astype(int), weight)


def test_nine_hundred_dots_take_nine_hundredths_of_the_room_for_ten_thousand() -> None:
    """Their heat is left out, since it has bounds of its own; nothing else is."""
    playback = playback_of(*dots_job(30))
    assert sum(map(len, packed(playback))) <= 0.09 * MOST
    assert playback.head["simplified"] == []
    assert playback.head["sides"][0]["columns"]["visit_set"][1] == 900


def test_a_job_without_heat_or_part_can_be_played() -> None:
    """No speed is set, so nothing is swept: no rows, but outlines and the table of layers."""
    head = playback_of(*idle_job()).head
    side = head["sides"][1]
    assert side["columns"]["visit_set"][1] == 0
    assert side["columns"]["shape_layer"][1] == 1
    assert side["layers"][0]["speed"] is None
    assert not side["index"]["known"]
