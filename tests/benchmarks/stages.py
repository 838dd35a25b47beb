"""Where the time of a whole run goes, and how much memory it takes.

    python -m tests.benchmarks.stages

The fern job as it lies in fixtures, with all that can be made of it; then its recipe, without heat,
on 5000 leaves of 200 000 vertices. Each in a process of its own, in processor time.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.drawings import framed
from tests.benchmarks.jobs import FERN, lay_out

SHAPES, VERTICES = 5000, 200_000


def stages(recipe: Path, *, heat: bool) -> dict[str, float]:
    """Seconds of each stage of a run; to be called in a process of its own."""
    import preprocess.pipeline as flow
    from preprocess.engine import progress
    from preprocess.recipe.load import load_recipe

    found: dict[str, float] = {}

    def timed(name, call, *args, **named):
        begin = time.process_time()
        result = call(*args, **named)
        found[name] = found.get(name, 0.0) + time.process_time() - begin
        return result

    loaded = timed("recipe", load_recipe, recipe)
    read, run, check, written = (
        flow.read_seats,
        progress.run_step,
        flow.check_artwork,
        flow._written,
    )
    flow.read_seats = lambda *a: timed("read", read, *a)
    progress.run_step = lambda step, *a: timed(step.name, run, step, *a)
    flow.check_artwork = lambda *a: timed("check", check, *a)
    flow._written = lambda *a: timed("write and read back", written, *a)
    result = flow.convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    if heat:
        _predicted(flow, loaded, result, timed)
    found["peak, MiB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def _predicted(flow, loaded, result, timed) -> None:
    predicted = timed("rows and heat, before and after", flow.predict_both, result)
    timed("overlay", flow.make_overlay, result, "design")
    timed("report", flow.make_report, result, loaded, "design", predicted)
    timed("sheet", flow.make_sheet, result, loaded, "design", predicted)


def show(title: str, recipe: Path, *, heat: bool) -> None:
    how = "--heat" if heat else "--no-heat"
    call = [sys.executable, "-m", "tests.benchmarks.stages", how, str(recipe)]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(done.stderr)
    found = json.loads(done.stdout)
    peak = found.pop("peak, MiB")
    total = sum(found.values())
    print(f"\n{title}")
    for name, seconds in found.items():
        print(f"{name:<34} {seconds:>8.3f} s {100 * seconds / total:>6.1f} %")
    print(f"{'all':<34} {total:>8.3f} s; peak {peak:.0f} MiB")


def command_line(recipe: Path) -> float:
    call = [sys.executable, "-m", "preprocess", "run", recipe.name, "-o", "o.svg", "--no-heat"]
    begin = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(call, cwd=recipe.parent, check=True, capture_output=True)
    end = resource.getrusage(resource.RUSAGE_CHILDREN)
    return end.ru_utime + end.ru_stime - begin.ru_utime - begin.ru_stime


def main() -> None:
    show("the fern job", FERN / "fern.yaml", heat=True)
    with tempfile.TemporaryDirectory() as folder:
        recipe = lay_out(Path(folder), framed(SHAPES, VERTICES))
        show(f"its recipe on {SHAPES} leaves, {VERTICES} vertices", recipe, heat=False)
        seconds = min(command_line(recipe) for _ in range(2))
        print(f"evenmark run --no-heat: {seconds:.1f} s; at most 10 wanted")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(json.dumps(stages(Path(sys.argv[2]), heat=sys.argv[1] == "--heat")))
    else:
        main()
