"""Do two trees of this project write the same files?

    python -m tests.same_outputs ../other-tree

runs the jobs (with overlay, sheet, report and heat map), all cases of passes, a coupon of each
kind and a jig in both trees, with the fixtures of this one, and names each file that differs.
Reports are compared without their findings, whose wording may change, and versions.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[1]
FIXTURES = ROOT / "fixtures"
KINDS = sorted(path.name.split(".")[0] for path in FIXTURES.glob("coupons/*.grades.csv"))
SPOKEN = {"findings", "versions"}
"""Keys of a report that hold sentences or versions."""


def commands() -> dict[str, tuple[Path, list[str]]]:
    """What is run: a name, the folder of fixtures that it runs in, and the words of the command."""
    found: dict[str, tuple[Path, list[str]]] = {}
    for recipe in sorted(FIXTURES.glob("jobs/*/*.yaml")):
        if "passes:" not in recipe.read_text("utf-8"):
            continue
        kept = ["-o", "a.svg", "--overlay", "o.svg", "--report", "r.json", "--sheet", "s.html"]
        found[f"job-{recipe.stem}"] = recipe.parent, ["run", recipe.name, *kept]
        found[f"map-{recipe.stem}"] = recipe.parent, ["predict", recipe.name, "--map", "m.svg"]
        found[f"jig-{recipe.stem}"] = recipe.parent, ["jig", recipe.name, "-o", "jig.svg"]
    for case in sorted(FIXTURES.glob("passes/*/*")):
        words = ["run", "recipe.yaml", "in.svg", "-o", "a.svg", "--overlay", "o.svg", "--no-heat"]
        found[f"pass-{case.parent.name}-{case.name}"] = case, words
    for kind in KINDS:
        words = ["coupon", "nursery.yaml", kind, "-o", "made.svg"]
        found[f"coupon-{kind}"] = FIXTURES / "coupons", words
    return found


def outputs(tree: Path, folder: Path, words: list[str]) -> dict[str, bytes]:
    """The files that a command of one tree writes beside a copy of its fixtures; its exit code."""
    with tempfile.TemporaryDirectory() as name:
        work = Path(name) / "work"
        shutil.copytree(folder, work)
        given = {path: path.read_bytes() for path in work.rglob("*") if path.is_file()}
        done = subprocess.run(
            [sys.executable, "-m", "preprocess", *words],
            cwd=work,
            env={**os.environ, "PYTHONPATH": str(tree), "NO_COLOR": "1"},
            capture_output=True,
            check=False,
        )
        made = {
            path.relative_to(work).as_posix(): _compared(path)
            for path in sorted(work.rglob("*"))
            if path.is_file() and given.get(path) != path.read_bytes()
        }
    return {"exit code": str(done.returncode).encode(), **made}


def _compared(path: Path) -> bytes:
    data = path.read_bytes()
    if path.suffix != ".json":
        return data
    report = json.loads(data)
    return json.dumps({k: v for k, v in report.items() if k not in SPOKEN}).encode()


def main(other: str) -> int:
    """Compare; returns 1 when a file differs."""

    def compare(item: tuple[str, tuple[Path, list[str]]]) -> tuple[int, list[str]]:
        name, (folder, words) = item
        here, there = (outputs(tree, folder, words) for tree in (ROOT, Path(other).resolve()))
        files = sorted({*here, *there})
        return len(files), [f"{name}: {f}" for f in files if here.get(f) != there.get(f)]

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        results = list(pool.map(compare, commands().items()))
    differing = [line for _, lines in results for line in lines]
    print("\n".join([*differing, f"{sum(n for n, _ in results)} files, {len(differing)} differ"]))
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
