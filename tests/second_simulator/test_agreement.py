"""evenmark's times, heat and objective against the second simulator, on written files."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.evenness.objective import evenness_objective
from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from tests.second_simulator.heat import Plastic, peaks, peaks_at
from tests.second_simulator.judge import verdict
from tests.second_simulator.written import Job, written

SPREADS = 0.3, 0.15, 0.6
STRIPS = "[merge, {interleave: {form: strips}}]"
ROWS = "[merge, {interleave: {form: own-rows}}]"

ROUNDS = {
    "strips of a blade": Job(motif="blade", passes=STRIPS, direction="two-way"),
    "own rows of a waist": Job(motif="waist", passes=ROWS, direction="two-way"),
    "own rows of lettering, one colour": Job(
        motif="lettering", passes="[merge, {interleave: {form: own-rows, colours: 1}}]"
    ),
    "strips path by path": Job(
        motif="comb", passes="[merge, {interleave: {form: strips, colours: 2}}]",
        groups="each-path", first_row="page", speed=900.0,
    ),
    "eight rounds": Job(
        motif="script", passes=ROWS, pitch=0.05, speed=1200.0, direction="two-way"
    ),
}  # fmt: skip
PLAIN = {
    "a blade one-way": Job(motif="blade"),
    "a waist two-way": Job(motif="waist", direction="two-way", first_row="half-pitch"),
    "discs one by one": Job(motif="discs", passes="[split]", groups="each-path", speed=150.0),
    "a stalk along the rows": Job(motif="stalk", pitch=0.15, speed=900.0),
}


@pytest.mark.parametrize("name", [*ROUNDS, *PLAIN])
def test_the_time_of_the_file_is_the_predicted_time(name):
    result, light = written({**ROUNDS, **PLAIN}[name])
    machine = result.bench.machine_or_default
    assert schedule_of(plan_of(result.after, machine), machine).total == pytest.approx(
        light.lasts, abs=1e-4
    )


def places(cells, light):
    """The stretch of light that holds each of evenmark's cells, and the place within it."""
    row = np.argmin(np.abs(np.unique(np.round(light.y, 3))[:, None] - cells.v), axis=0)
    number = np.unique(np.round(light.y, 3), return_inverse=True)[1]
    stretch = np.empty(len(cells), int)
    for n in np.unique(row).tolist():
        mine, here = np.flatnonzero(row == n), np.flatnonzero(number == n)
        u = cells.u[mine, None]
        away = np.maximum(0, np.maximum(light.a[here] - u, u - light.b[here]))
        stretch[mine] = here[np.argmin(away, axis=1)]
    order = np.argsort(stretch, kind="stable")
    x = np.clip(cells.u, light.a[stretch], light.b[stretch])
    return order, x[order], stretch[order]


@pytest.mark.parametrize("name", [*ROUNDS, *PLAIN])
def test_the_index_of_the_file_agrees(name):
    result, light = written({**ROUNDS, **PLAIN}[name])
    heat = heat_index(result.after, result.bench)
    cells = marked_cells(heat.images)
    order, x, stretch = places(cells, light)
    found = peaks_at(light, Plastic(), SPREADS, x, stretch)
    for n in range(len(SPREADS)):
        index = cells.index[n][order] / np.median(cells.index[n])
        off = np.abs(index / (found[:, n] / np.median(found[:, n])) - 1)
        assert np.quantile(off, 0.95) < 0.02


@pytest.mark.parametrize("name", [*ROUNDS, *PLAIN])
def test_the_objective_of_the_file_agrees(name):
    """Columns see the ends of very thin pieces a little warmer than they are, at a wide spread."""
    result, light = written({**ROUNDS, **PLAIN}[name])
    ours = evenness_objective(heat_index(result.after, result.bench), time=0.0, layers=0)
    cells = peaks(light, Plastic(), SPREADS)
    theirs = [verdict(light, cells, n) for n in range(len(SPREADS))]
    assert ours.likely.hot == pytest.approx(theirs[0].hot, abs=0.02)
    assert ours.likely.cold == pytest.approx(theirs[0].cold, abs=0.02)
    assert ours.likely.seam == pytest.approx(theirs[0].seam, abs=0.02)
    assert ours.worst.hot == pytest.approx(max(one.hot for one in theirs), abs=0.02)
    assert ours.worst.cold == pytest.approx(min(one.cold for one in theirs), abs=0.04)
