"""A run that is killed at any moment leaves the old files or the new ones, never some of each."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest


@pytest.mark.skipif(sys.platform == "win32", reason="no fork there")
@pytest.mark.parametrize("seed", [1])
def test_killed_at_random_moments(seed):
    done = subprocess.run(
        [sys.executable, "-m", "tests.kills", "25", str(seed)],
        capture_output=True,
        text=True,
        check=True,
    )
    found = json.loads(done.stdout)
    assert found.get("old", 0) + found.get("new", 0) == 25, found
