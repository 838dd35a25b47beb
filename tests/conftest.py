"""Settings that all tests share: no test is timed, and each run tries the same cases."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import settings

settings.register_profile("evenmark", deadline=None, derandomize=True)
settings.load_profile("evenmark")

# Commands that tests start run this tree, whatever other checkout is installed.
os.environ["PYTHONPATH"] = os.pathsep.join(
    dict.fromkeys(
        [str(Path(__file__).parents[1]), *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
    )
).strip(os.pathsep)

# As commands do it: two threads take up to five times the processor time for small matrices.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

collect_ignore = ["sample_plugin"]
"""A package of its own: tests/architecture installs it and runs its tests there."""
