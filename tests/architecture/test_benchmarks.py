"""Benchmarks that nobody runs for a while must still run: each kind on its smallest drawing."""

import importlib
import json
import subprocess
import sys

import pytest

from tests.benchmarks import scaling
from tests.benchmarks.__main__ import ALL
from tests.benchmarks.crowds import CROWDS, WAYS, Crowd, laid_out, measured
from tests.benchmarks.drawings import framed
from tests.benchmarks.jobs import FERN, lay_out

SMALLEST = {crowd.draw.__name__: crowd for crowd in CROWDS}
FEW = {"framed_frond": 2000, "dots": 9, "hairlines": 4, "letters": 50, "solid": 6, "nested": 3}


@pytest.mark.parametrize("name", ALL)
def test_every_benchmark_can_be_started(name):
    assert importlib.import_module(f"tests.benchmarks.{name}").__doc__


@pytest.mark.parametrize("kind", SMALLEST)
def test_a_crowd_runs_in_every_way_that_it_is_measured_in(tmp_path, kind):
    some = SMALLEST[kind]
    few = Crowd(some.name, FEW.get(kind, 2), some.draw, some.passes, some.settings)
    recipe = laid_out(tmp_path, few)
    for way in some.ways:
        seconds, peak = measured(recipe, WAYS[way])
        assert min(seconds, peak) > 0
    assert (tmp_path / "out.svg").exists()


def stages(recipe, how):
    """Seconds by stage, from a process of its own: the stages are wrapped there."""
    call = [sys.executable, "-m", "tests.benchmarks.stages", how, str(recipe)]
    return json.loads(subprocess.run(call, check=True, capture_output=True).stdout)


def test_stages_of_a_run_are_found_in_it(tmp_path):
    found = stages(lay_out(tmp_path, framed(4, 200)), "--no-heat")
    assert {"read", "inset-tips", "tag-power", "check", "write and read back"} <= found.keys()


def test_stages_of_the_fern_with_heat_are_found_in_it():
    found = stages(FERN / "fern.yaml", "--heat")
    assert {"rows and heat, before and after", "overlay", "report", "sheet"} <= found.keys()


def test_growth_has_a_figure_for_each_stage():
    found = scaling.measured(framed(4, 200))
    assert {"read", "tips", "zones", "heat", "peak, MiB"} <= found.keys()
