"""What a command imports before it works."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

FERN = Path(__file__).parents[2] / "fixtures" / "jobs" / "fern" / "fern.yaml"
LOADED = """
import sys
sys.argv = ["evenmark", "run", sys.argv[1], "-o", "-", "--no-heat", "--quiet"]
from preprocess.cli.app import main
try:
    main()
finally:
    print("MODULES", *sorted(sys.modules), file=sys.stderr)
"""
FOR_HEAT = ("scipy", "preprocess.marking.heat", "preprocess.marking.solver.field")
FOR_TYPES = ("pydantic",)


def test_a_run_without_heat_imports_nothing_that_predicts_heat_or_checks_plain_texts():
    done = subprocess.run(
        [sys.executable, "-c", LOADED, str(FERN)], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("</svg>\n")
    loaded = done.stderr.splitlines()[-1].split()
    assert "preprocess.passes.solve_power.solve_power" in loaded
    assert [name for name in loaded if name.startswith((*FOR_HEAT, *FOR_TYPES))] == []


THREADS = """
import os, sys
sys.argv = ["evenmark", "--version"]
from preprocess.cli.app import main
try:
    main()
finally:
    import numpy
    print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="the system lists no threads")
@pytest.mark.parametrize(("said", "threads"), [(None, "1"), ("2", "2")])
def test_matrices_take_one_thread_unless_a_person_says_otherwise(said, threads):
    wanted = {name: value for name, value in os.environ.items() if "NUM_THREADS" not in name}
    if said:
        wanted["OPENBLAS_NUM_THREADS"] = said
    done = subprocess.run(
        [sys.executable, "-c", THREADS], env=wanted, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == (threads if os.cpu_count() != 1 else "1")
