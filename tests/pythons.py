"""Whether other Pythons, or other versions of the libraries, write the same bytes.

    python -m tests.pythons /path/to/python3.12 /path/to/python3.13
    python -m tests.pythons --fern /path/to/python/with/the/lowest/libraries

Runs three jobs, a coupon and a fit, or the fern job alone. Each of the others needs the libraries;
the code is that of this tree. For the whole set they need the same versions (`pip freeze` of one,
installed into the others), since a fit may differ in its last digits. Versions that a report names
are left apart. Prints the outputs that differ; leaves with 1 if any does.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
JOBS = ("fern/fern", "moth/moth-apart", "seed-head/seed-head")
KEPT = ("--overlay", "o.svg", "--sheet", "s.html", "--report", "r.json")
FIT = ("fit", "first.grades.csv", "-o", "profile.yaml", "--plot", "band.svg", "--next", "next.svg")


def commands(folder: Path, *, fern: bool) -> list[tuple[Path, tuple[str, ...]]]:
    """A folder for each command, to run it in, and its arguments."""
    found = []
    for job in JOBS[:1] if fern else JOBS:
        place = folder / job
        place.mkdir(parents=True)
        found.append(
            (place, ("run", str(ROOT / f"fixtures/jobs/{job}.yaml"), "-o", "l.svg", *KEPT))
        )
    if fern:
        return found
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


def written(python: str, folder: Path, *, fern: bool) -> dict[str, bytes]:
    """Everything that one Python writes, by its path."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for place, arguments in commands(folder, fern=fern):
        call = [python, "-m", "preprocess", *arguments, "--quiet"]
        subprocess.run(call, cwd=place, env=environment, check=True)
    return {
        str(path.relative_to(folder)): _without_versions(path)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def _without_versions(path: Path) -> bytes:
    """What a file holds, less the versions that reports and the foot of sheets name."""
    if path.suffix == ".html":
        return re.sub(rb"<p>evenmark .*?</p>", b"", path.read_bytes())
    if path.suffix != ".json":
        return path.read_bytes()
    report = json.loads(path.read_bytes())
    report["versions"] = sorted(report["versions"])
    return json.dumps(report).encode()


def main() -> int:
    """Compare this Python with those that are named."""
    fern = sys.argv[1:2] == ["--fern"]
    others = sys.argv[2:] if fern else sys.argv[1:]
    with tempfile.TemporaryDirectory() as name:
        # the same folder for all: a report tells the paths that it was made of
        place = Path(name) / "work"
        outcomes = []
        for python in (sys.executable, *others):
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir()
            outcomes.append(written(python, place, fern=fern))
    mine, *theirs = outcomes
    differ = sorted(
        f"{python}: {path}"
        for python, other in zip(others, theirs, strict=True)
        for path in {*mine, *other}
        if mine.get(path) != other.get(path)
    )
    print("\n".join(differ) or f"{len(mine)} files, equal on {len(outcomes)} Pythons")
    return int(bool(differ))


if __name__ == "__main__":
    sys.exit(main())
