"""Whether other Pythons write the same bytes: three jobs, a coupon and a fit.

    python -m tests.pythons /path/to/python3.12 /path/to/python3.13

Each of them needs evenmark and the same versions of all libraries: `pip freeze` of one, installed
into the others. Prints the outputs that differ; leaves with 1 if any does.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
JOBS = ("fern/fern", "moth/moth-apart", "seed-head/seed-head")
KEPT = ("--overlay", "o.svg", "--sheet", "s.html", "--report", "r.json")
FIT = ("fit", "first.grades.csv", "-o", "profile.yaml", "--plot", "band.svg", "--next", "next.svg")


def commands(folder: Path) -> list[tuple[Path, tuple[str, ...]]]:
    """A folder for each command, to run it in, and its arguments."""
    found = []
    for job in JOBS:
        place = folder / job
        place.mkdir(parents=True)
        found.append(
            (place, ("run", str(ROOT / f"fixtures/jobs/{job}.yaml"), "-o", "l.svg", *KEPT))
        )
    walk = ROOT / "fixtures/walkthrough"
    made = folder / "coupon"
    made.mkdir()
    found.append((made, ("coupon", str(walk / "coupons.yaml"), "row-span", "-o", "c.svg")))
    graded = folder / "graded"
    graded.mkdir()
    for name in ("bench.yaml", "first.coupon.yaml", "first.grades.csv"):
        shutil.copy(walk / name, graded)
    found.append((graded, FIT))
    return found


def written(python: str, folder: Path) -> dict[str, bytes]:
    """Everything that one Python writes, by its path."""
    for place, arguments in commands(folder):
        subprocess.run([python, "-m", "preprocess", *arguments, "--quiet"], cwd=place, check=True)
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def main() -> int:
    """Compare this Python with those that are named."""
    with tempfile.TemporaryDirectory() as name:
        # the same folder for all: a report tells the paths that it was made of
        place = Path(name) / "work"
        outcomes = []
        for python in (sys.executable, *sys.argv[1:]):
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir()
            outcomes.append(written(python, place))
    mine, *others = outcomes
    differ = sorted(
        f"{python}: {path}"
        for python, other in zip(sys.argv[1:], others, strict=True)
        for path in {*mine, *other}
        if mine.get(path) != other.get(path)
    )
    print("\n".join(differ) or f"{len(mine)} files, equal on {len(outcomes)} Pythons")
    return int(bool(differ))


if __name__ == "__main__":
    sys.exit(main())
