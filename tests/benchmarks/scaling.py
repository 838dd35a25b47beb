"""How the time of each stage grows with vertices and with shapes, and how much memory it takes.

    python -m tests.benchmarks.scaling              1, 10 and 100 times; some minutes
    python -m tests.benchmarks.scaling 10           only up to 10 times

"slope" is the exponent of growth from one size to the next ten times: 1 is linear; n log n is 1.09
between 10 000 and 100 000, 1.08 beyond. Each size has a process of its own; its stages are
measured in processor time, the least of a few. More vertices lie on the same page; more shapes of
the same size need a larger one, so that rows and places to reckon heat at grow too. "traced" is one
connected frond with hundreds of tips, whose wavy outline has more and more points.
"""

from __future__ import annotations

import json
import math
import resource
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from tests.benchmarks.drawings import PAGE, framed, framed_frond
from tests.benchmarks.jobs import lay_out

SERIES = {
    "vertices": {1: (50, 10_000), 10: (50, 100_000), 100: (50, 1_000_000)},
    "shapes": {1: (100, 4000), 10: (1000, 40_000), 100: (10_000, 400_000)},
    "traced": {1: (1, 27_000), 10: (1, 267_000)},
}
CELL = 2.5
"""Side of the square that each leaf of the second series has to itself, in mm."""
ENOUGH_S = 2.0


def stages(folder: Path) -> dict[str, float]:
    """Seconds of each stage; run in a process of its own."""
    from preprocess.marking.prediction import predict
    from preprocess.model.artwork.output import output_layers
    from preprocess.model.bench.bench import Bench
    from preprocess.passes.split import Split
    from preprocess.read.reader import read
    from preprocess.recipe.load import load_recipe
    from preprocess.write.svg.svg_document import svg_bytes

    loaded = load_recipe(folder / "recipe.yaml")
    data = (folder / "design.svg").read_bytes()
    bench = Bench(machine=loaded.machine, filament=loaded.filament, parts=loaded.options.parts)
    steps = {step.name: step.params for step in loaded.steps}
    found = {}

    def timed(name, call):
        best = math.inf
        spent = 0.0
        while spent < ENOUGH_S and (spent == 0.0 or spent < ENOUGH_S / 2):
            begin = time.process_time()
            result = call()
            best = min(best, time.process_time() - begin)
            spent += time.process_time() - begin
        found[name] = best
        return result

    art = timed("read", lambda: read(data, "design.svg", loaded.options)).artwork
    merged = timed("merge", lambda: steps["merge"](art, bench)).artwork
    timed("split", lambda: Split()(merged, bench))
    inset = timed("tips", lambda: steps["inset-tips"](merged, bench)).artwork
    timed("zones", lambda: steps["tag-power"](inset, bench))
    barred = timed("bars", lambda: steps["equalize-width"](inset, bench)).artwork
    timed("heat", lambda: predict(barred, bench, surely=True))
    colours = {output.id: "#0072b2" for output in output_layers(barred, guides=True)}
    timed("write", lambda: svg_bytes(barred, colours=colours))
    found["peak, MiB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def measured(design: bytes) -> dict[str, float]:
    """The same of a drawing, measured in another process."""
    with tempfile.TemporaryDirectory() as folder:
        lay_out(Path(folder), design)
        call = [sys.executable, "-m", "tests.benchmarks.scaling", "--stages", folder]
        done = subprocess.run(call, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(done.stderr)
    return json.loads(done.stdout)


def drawing(name: str, shapes: int, vertices: int) -> bytes:
    """The drawing of a series at one of its sizes."""
    if name == "traced":
        return framed_frond(vertices)
    return framed(shapes, vertices, PAGE if name == "vertices" else CELL * math.sqrt(shapes))


def main(most: int) -> None:
    for name, sizes in SERIES.items():
        print(f"\n{'':<10}", end="")
        for times, (shapes, vertices) in sizes.items():
            if times <= most:
                print(f"{shapes:>8,} × {vertices:>9,}{'' if times == 1 else '  slope':>7}", end="")
        print(f"   growing {name} (shapes × vertices), s", flush=True)
        wanted = [size for times, size in sizes.items() if times <= most]
        seen = [measured(drawing(name, *size)) for size in wanted]
        for stage in seen[0]:
            print(f"{stage:<10}{seen[0][stage]:>20.3f}", end=" " * 7)
            for before, after in pairwise(seen):
                slope = math.log10(after[stage] / before[stage])
                print(f"{after[stage]:>20.3f}{slope:>7.2f}", end="")
            print()


if __name__ == "__main__":
    if "--stages" in sys.argv:
        print(json.dumps(stages(Path(sys.argv[-1]))))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
