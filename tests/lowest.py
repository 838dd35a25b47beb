"""The lowest libraries that pyproject.toml allows, one requirement to a line, for pip.

pip install $(python -m tests.lowest)
"""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def lowest() -> list[str]:
    """Each direct dependency at its lower bound, in the order of pyproject.toml."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return [name.replace(">=", "==") for name in project["dependencies"]]


if __name__ == "__main__":
    print("\n".join(lowest()))
