"""The glow is for the eye, but it stays near the warmth of the point that it shows."""

from __future__ import annotations

import numpy as np
import pytest

from tests.browser import needs_chromium
from tests.playback_jobs import playback_job
from tests.playback_page import load_job, opened_scripts

pytestmark = needs_chromium

GLOW = """([number, cell, times]) => {
  const S = job.sides[number], [left, top, right, bottom] = job.facts.box;
  const old = past(S, job.M, [left - 3, top - 3, right + 3, bottom + 3]);
  const picture = field(S, job.M, [left, top, right, bottom], cell, old), found = [];
  for (const time of times) {
    const shown = picture.at(time);
    for (let k = 0; k < 900; k++) {
      const i = (k * 7919) % picture.nx, j = (k * 104729) % picture.ny;
      const x = left + (i + 0.5) * cell, y = top + (j + 0.5) * cell;
      found.push([rises(S, job.M, x, y, [time])[0] * job.M.scale, shown[j * picture.nx + i]]);
    }
  }
  return found;
}"""
"""Pairs of warmth at a point and the glow of its cell, in the index."""


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with opened_scripts(tmp_path_factory.mktemp("scripts")) as page:
        yield page


@pytest.mark.parametrize(("name", "side"), [("turned", 0), ("tray", 1), ("rounds", 1)])
def test_young_and_old_warmth_glow_as_points_are_warm(page, name, side) -> None:
    """Shortly after the job all rows are young; 3 and 40 s later all are old."""
    job = playback_job(name)
    load_job(page, job)
    end = job[1][side].schedule.total
    for late, median in ((0.2, 0.02), (3.0, 0.06), (40.0, 0.06)):
        warm, glow = np.array(page.evaluate(GLOW, [side, 0.05, [end + late]])).T
        some = warm > 0.05 * warm.max()
        off = np.abs(glow[some] / warm[some] - 1)
        assert some.sum() > 50
        assert np.median(off) <= median
        assert np.quantile(off, 0.95) <= 0.25
