"""Settings that all tests share: no test is timed, and each run tries the same cases."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("evenmark", deadline=None, derandomize=True)
settings.load_profile("evenmark")

collect_ignore = ["sample_plugin"]
"""A package of its own: tests/architecture installs it and runs its tests there."""
