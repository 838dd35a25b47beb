"""The beam in the page is where the schedule says, when it says so."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.geometry.base.row_frame import RowFrame
from tests.browser import needs_chromium
from tests.playback_jobs import JOBS, idle_job, playback_job, rectangle_job
from tests.playback_page import load_job, opened_scripts

pytestmark = needs_chromium

SOON = 2e-5
"""s: two of the block's units of time."""


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with opened_scripts(tmp_path_factory.mktemp("scripts")) as page:
        yield page


def entered(prediction) -> list[tuple[float, float, float]]:
    """Time at which the beam enters every run and the place on the page."""
    found = []
    for visit in prediction.schedule.visits:
        timed = visit.timed
        several = timed.rounds or ([timed] if timed.runs is not None else [])
        for one in several:
            own = bool(timed.rounds)
            angle = one.angle if own else prediction.plan.steps[visit.step].angle
            at = one.entered if own else one.runs_at
            row = one.runs.row if own else np.searchsorted(one.spans.row, one.runs.row)
            v = one.y if own else one.spans.v
            u = np.where(one.forward[row], one.runs.start, one.runs.end)
            x, y = RowFrame(angle).to_xy(u, v[row])
            found += zip((visit.begins + at).tolist(), x.tolist(), y.tolist(), strict=True)
    return found


@pytest.mark.parametrize("name", JOBS)
def test_the_beam_enters_every_run_when_the_schedule_says(page, name) -> None:
    job = playback_job(name)
    load_job(page, job)
    for number, prediction in enumerate(job[1]):
        wanted = np.array(entered(prediction))
        found = np.array(
            page.evaluate(
                """(n) => { const S = job.sides[n]; return [...S.row].map((r, i) =>
                    [S.rt[i], ...place(S, r, S.forward[r] ? S.p[i] : S.q[i])]); }""",
                number,
            )
        )
        for t, x, y in wanted:
            near = np.abs(found[:, 0] - t) <= SOON
            away = np.hypot(found[near, 1] - x, found[near, 2] - y)
            assert away.min() <= 0.004


def test_the_beam_goes_back_and_forth_and_flies_between(page) -> None:
    """Five rows from x = 2 to 6 mm, 0.1 mm apart, at 500 mm/s with 1.2 ms to turn."""
    load_job(page, rectangle_job(None))
    found = page.evaluate(
        "(times) => times.map((t) => beamAt(job.sides[1], t))", [0.004, 0.0086, 0.0112, 0.0448]
    )
    middle, turning, second, last = found
    assert (middle["row"], middle["lit"]) == (0, True)
    assert (middle["x"], middle["y"]) == pytest.approx((4.0, 1.0), abs=0.006)
    assert (turning["row"], turning["lit"]) == (0, False)
    assert (turning["x"], turning["y"]) == pytest.approx((6.0, 1.05), abs=0.006)
    assert (second["row"], second["lit"]) == (1, True)
    assert (second["x"], second["y"]) == pytest.approx((5.0, 1.1), abs=0.006)
    assert (last["x"], last["y"]) == pytest.approx((6.0, 1.4), abs=0.006)


def test_a_scored_line_is_followed(page) -> None:
    """The petiole from (6, 5) to (3, 6) mm, √10 mm long, at 300 mm/s: the middle after 5.27 ms."""
    load_job(page, playback_job("late-light"))
    found = page.evaluate(
        """() => { const S = job.sides[1], n = S.visits.findIndex((v) => v.kind === 'scored');
            return [0, 0.5, 1].map((share) => beamAt(S, S.visits[n].begins + 1e-7
                + share * Math.sqrt(10) / 300)); }"""
    )
    places = [(one["x"], one["y"]) for one in found]
    np.testing.assert_allclose(places, [(6, 5), (4.5, 5.5), (3, 6)], atol=0.006)
    assert [one["row"] for one in found] == [-1, -1, -1]
    assert found[1]["lit"]


def test_a_row_that_comes_near_a_point_is_told_with_its_time(page) -> None:
    """The third row passes the middle after 22.4 ms; its neighbours are 0.1 mm off."""
    load_job(page, rectangle_job(None))
    found = page.evaluate("() => visitsAt(job.sides[1], 4.0, 1.2, 0.15)")
    assert [one["row"] for one in found] == [1, 2, 3]
    assert [one["t"] for one in found] == pytest.approx([0.0132, 0.0224, 0.0316], abs=SOON)
    assert [one["dy"] for one in found] == pytest.approx([-0.1, 0.0, 0.1], abs=1e-6)
    assert all(one["lit"] and one["part"] == 1 for one in found)


@pytest.mark.parametrize("name", ["turned", "rounds", "own-rows"])
def test_cells_of_the_index_lie_where_they_were_evaluated(page, name) -> None:
    """In time order; those of runs too short for a column lie in the middle of their run."""
    job = playback_job(name)
    load_job(page, job)
    for number, prediction in enumerate(job[1]):
        x, y, index, t = np.array(
            page.evaluate(
                "(n) => ['x', 'y', 'v', 't'].map((k) => [...job.sides[n].cells[k]])",
                number,
            )
        )
        assert (np.diff(t) >= -1e-5).all()
        images = prediction.heat.images
        wanted = np.concatenate([np.stack([*i.points, i.index], axis=-1)[i.lit] for i in images])
        assert len(x) == len(wanted)
        for place in wanted[:: len(wanted) // 40]:
            nearest = np.argmin(np.hypot(x - place[0], y - place[1]))
            assert np.hypot(x[nearest] - place[0], y[nearest] - place[1]) <= 0.005
            assert index[nearest] == pytest.approx(place[2], abs=0.5 / 80 + 1e-6)


def test_a_job_in_which_nothing_is_timed_opens_and_stays_dark(page) -> None:
    load_job(page, idle_job())
    found = page.evaluate(
        """() => { const S = job.sides[1], box = job.facts.box, beam = beamAt(S, 0);
            const glow = field(S, job.M, box, 0.5, past(S, job.M, box)).at(0.1);
            const hottest = peakAt(S, job.M, 3, 2).index;
            return [S.rows, beam.row, beam.lit, Math.max(...glow), hottest]; }"""
    )
    assert found == [0, -1, False, 0, 0]
