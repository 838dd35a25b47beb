"""The page's heat against numbers that neither it nor Python computed, and against the index."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.heat.superposition import smoothed_rise
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from tests import playback_reference as reference
from tests.browser import needs_chromium
from tests.playback_figures import cells_inside_runs, peaks_off
from tests.playback_jobs import JOBS, playback_job, rectangle_job
from tests.playback_page import load_job, opened_scripts

pytestmark = needs_chromium

CELLS = 150
"""Cells of each side whose peak is computed."""


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with opened_scripts(tmp_path_factory.mktemp("scripts")) as page:
        yield page


@pytest.mark.parametrize("thickness", [None, 1.4])
def test_the_page_and_python_agree_with_integrals(page, thickness) -> None:
    """Python exactly; the page to its units of 2 µm and 10 µs, and its tables."""
    result, predictions = job = rectangle_job(thickness)
    medium = thermal_medium_of(result.bench.filament, result.bench.machine, thickness=thickness)
    plan, schedule = predictions[0].plan, predictions[0].schedule
    exposures = exposures_of(plan, schedule, medium.watts, result.after.parts[0])
    load_job(page, job)
    times = list(reference.TIMES)
    for name, place in reference.PLACES.items():
        wanted = np.array(reference.KELVIN[thickness][name])
        python = smoothed_rise(exposures, medium, place, 0.0, np.array(times))
        np.testing.assert_allclose(python, wanted, rtol=1e-5, atol=1e-4)
        found = page.evaluate(
            "([x, y, times]) => [...rises(job.sides[1], job.M, x, y, times)]", [*place, times]
        )
        np.testing.assert_allclose(found, wanted, rtol=2e-3, atol=1e-4)


@pytest.mark.parametrize("thickness", [None, 1.4])
def test_a_row_under_the_beam_is_as_hot_as_the_integral_over_its_way(page, thickness) -> None:
    result, predictions = job = rectangle_job(thickness)
    medium = thermal_medium_of(result.bench.filament, result.bench.machine, thickness=thickness)
    plan, schedule = predictions[0].plan, predictions[0].schedule
    exposures = exposures_of(plan, schedule, medium.watts, result.after.parts[0])
    middle, now = reference.PLACES["middle"], reference.HOTTEST + 1e-9
    python = smoothed_rise(exposures, medium, middle, 0.0, np.array([now]))[0]
    load_job(page, job)
    found = page.evaluate(
        "([x, y, t]) => rises(job.sides[1], job.M, x, y, [t])[0]", [*middle, now + 1e-5]
    )
    assert python == pytest.approx(reference.PEAK, rel=1e-3)
    assert found == pytest.approx(reference.PEAK, rel=3e-3)


@pytest.mark.parametrize("name", JOBS)
def test_the_hottest_of_a_place_is_that_of_the_index(page, name) -> None:
    """Within 2 % at all but 5 % of the cells, and 10 % at most."""
    job = playback_job(name)
    load_job(page, job)
    for number, prediction in enumerate(job[1]):
        cells = cells_inside_runs(prediction, CELLS)
        off = peaks_off(page, number, cells)
        assert len(off) > CELLS / 4
        assert np.quantile(off, 0.95) <= 0.02
        assert off.max() <= 0.10
