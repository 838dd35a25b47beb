"""Powers of rounds: against superposition over every run, and what stays when nothing is gained."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from preprocess.marking.evenness.objective import objective_of_artwork
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import PowerSteps
from preprocess.passes.interleave.interleave import Form
from preprocess.passes.solve_power.solve_power import SolvePower
from tests.marking import brute
from tests.passes.benches import leaf, shape
from tests.passes.solving import KNOWN, STEPLESS, UNKNOWN, codes, interleaved, powers, strikes_of

BED = shape("bed", box(5, 5, 13, 11))
BLADE = shape("blade", leaf(20, 20, 26, 5, turn=1.2))


def heat_of_rounds(made, bench):
    """Peak in the middle of some rows of each exposure, by superposition over every run."""
    plan, struck, plastic = strikes_of(made, bench)
    found = {}
    for one in struck:
        name = plan.steps[one.step].output.id
        rows = np.linspace(3, len(one.y) - 4, 5).astype(int)
        points = [
            (
                float(one.start[one.row == n].mean() + one.end[one.row == n].mean()) / 2,
                float(one.y[n]),
            )
            for n in rows
        ]
        found.setdefault(name, []).extend(brute.peak(struck, one, plastic, p) for p in points)
    return {name: float(np.median(values)) for name, values in found.items()}


@pytest.mark.parametrize("form", Form)
def test_rounds_become_more_equally_hot_run_by_run(form):
    before = interleaved(BLADE, KNOWN, form=form)
    after = SolvePower()(before, KNOWN).artwork
    was, now = (list(heat_of_rounds(x, KNOWN).values()) for x in (before, after))
    assert max(was) / min(was) > 1.05
    assert max(now) / min(now) - 1 < 0.6 * (max(was) / min(was) - 1)
    found = list(powers(after).values())
    assert found == sorted(found, reverse=True)


def test_rounds_of_a_graded_filament_reach_index_one():
    after = SolvePower()(interleaved(BLADE, KNOWN), KNOWN).artwork
    medians = layer_medians(heat_index(after, KNOWN)).values()
    assert np.mean(list(medians)) == pytest.approx(1, abs=0.01)


def test_without_grades_the_mean_power_stays():
    after = SolvePower()(interleaved(BLADE, UNKNOWN), UNKNOWN).artwork
    mean = math.exp(np.mean(np.log(list(powers(after).values()))))
    assert mean == pytest.approx(0.3, rel=1e-3)


def test_a_blade_becomes_more_even_and_nowhere_less():
    before = interleaved(BLADE, UNKNOWN)
    outcome = SolvePower()(before, UNKNOWN)
    was, now = (objective_of_artwork(x, UNKNOWN) for x in (before, outcome.artwork))
    assert now.likely.off < 0.75 * was.likely.off
    assert now.worst.off <= was.worst.off + 5e-4
    assert "evenness" in codes(outcome)
    assert "levels-out-of-row-order" not in codes(outcome)


def test_powers_that_gain_nothing_on_a_coarse_machine_stay_equal():
    coarse = Bench(machine=replace(STEPLESS, power=PowerSteps(from_=0.1, to=1.0, step=0.1)))
    after = SolvePower()(interleaved(BED, coarse), coarse).artwork
    assert set(powers(after).values()) == {0.3}


def test_one_colour_of_own_rows_is_brought_to_index_one():
    after = SolvePower()(interleaved(BED, KNOWN, form=Form.OWN_ROWS, colours=1), KNOWN).artwork
    (median,) = layer_medians(heat_index(after, KNOWN)).values()
    assert median == pytest.approx(1, abs=0.01)
    assert after.layers[0].of(Operation.SCORE).power == powers(after)["fronds-score"]


def test_a_second_run_changes_no_power():
    once = SolvePower()(interleaved(BED, KNOWN), KNOWN).artwork
    again = SolvePower()(once, KNOWN).artwork
    assert powers(again) == pytest.approx(powers(once), rel=0.005)
