"""Where heat is evaluated, on written files: short runs in their own middle, shared places once.

The columns of the heat index are 0.1 mm wide; stems of 0.07 to 0.16 mm lean across them.
"""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.heat.index import heat_index
from tests.second_simulator.heat import Plastic, peaks_at
from tests.second_simulator.test_agreement import SPREADS, places
from tests.second_simulator.written import Job, written

ROWS = "[merge, {{interleave: {{form: own-rows, inset: 0 mm, colours: {}}}}}]"
JOBS = {
    "swept": Job(motif="stems"),
    "one stem after another": Job(motif="stems", passes="[split]", groups="each-path"),
    "four colours": Job(motif="stems", passes=ROWS.format(4), direction="two-way"),
    "one colour": Job(motif="stems", passes=ROWS.format(1), direction="two-way"),
}


@pytest.mark.parametrize("name", JOBS)
def test_short_runs_are_evaluated_in_their_own_middle(name):
    result, light = written(JOBS[name])
    cells = marked_cells(heat_index(result.after, result.bench).images)
    order, x, stretch = places(cells, light)
    assert len(set(stretch.tolist())) == len(light.y) == 90
    short = (light.b - light.a)[stretch] < 0.1
    assert x[short] == pytest.approx((light.a + light.b)[stretch][short] / 2, abs=1e-3)
    theirs = peaks_at(light, Plastic(), SPREADS, x, stretch)
    widest = np.argmax((light.b - light.a)[stretch])
    for index, found in zip(cells.index[:, order], theirs.T, strict=True):
        off = index / index[widest] / (found / found[widest]) - 1
        assert np.quantile(np.abs(off), 0.9) < 0.035
        assert np.abs(off).max() < 0.13


def test_where_rows_of_two_shapes_meet_the_hotter_visit_counts():
    """The last row of one bed lies at 3.9 mm, the first of the other at 3.92 mm."""
    result, light = written(Job(motif="two beds", passes="[split]", groups="each-path"))
    cells = marked_cells(heat_index(result.after, result.bench).images)
    assert np.isclose(light.y, 3.9).any()
    assert np.isclose(light.y, 3.92).any()
    one_place = np.abs(cells.v - 3.91) < 0.02
    x = cells.u[one_place]
    assert len(x) == 60
    both = [np.flatnonzero(np.isclose(light.y, y))[0] for y in (3.9, 3.92)]
    found = [peaks_at(light, Plastic(), SPREADS, x, np.full(len(x), row)) for row in both]
    far = np.flatnonzero(np.isclose(cells.v, 3.0) & np.isclose(cells.u, 5.05))
    there = peaks_at(light, Plastic(), SPREADS, cells.u[far], np.flatnonzero(light.y == 3.0)[:1])
    for n in range(len(SPREADS)):
        ours = cells.index[n, one_place] / cells.index[n, far]
        theirs = np.maximum(found[0][:, n], found[1][:, n]) / there[0, n]
        assert ours == pytest.approx(theirs, rel=0.025)
