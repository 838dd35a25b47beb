"""How long a command takes before it does anything, beside the imports that it cannot do without.

    python -m tests.benchmarks.startup          under a minute

Every line is the median of processes that are started in turn, in processor time. "imports" are all
modules of other libraries that a run had loaded when it ended. "the fern job" is that of fixtures.
"""

from __future__ import annotations

import json
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.drawings import fern
from tests.benchmarks.jobs import FERN, lay_out

ROUNDS = 9
VERTICES = 20_400
FERN_JOB = str(FERN / "fern.yaml")
LOADED = """
import atexit, json, sys
had = set(sys.modules)
def tell():
    own = {"preprocess", "__main__", *sys.builtin_module_names, *sys.stdlib_module_names}
    names = [n for n in sys.modules if n not in had and n.split(".")[0] not in own]
    print(json.dumps([n for n in names if n.isidentifier() or "." in n]))
atexit.register(tell)
sys.argv = ["evenmark", "run", "recipe.yaml", "-o", "out.svg", "--no-heat", "--quiet"]
from preprocess.cli.app import main
main()
"""
IMPORTED = """
import importlib, sys
for name in {names}:
    try:
        importlib.import_module(name)
    except ImportError:
        pass
"""


def seconds(call: list[str], folder: Path) -> float:
    """Of processor time: what else goes on in the machine counts little."""
    begin = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(call, cwd=folder, check=True, capture_output=True)
    end = resource.getrusage(resource.RUSAGE_CHILDREN)
    return end.ru_utime + end.ru_stime - begin.ru_utime - begin.ru_stime


def libraries(folder: Path) -> list[str]:
    """The modules of other libraries that a run loads, in order."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED], cwd=folder, capture_output=True, text=True, check=False
    )
    return json.loads(done.stdout.splitlines()[-1])


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        lay_out(folder, fern(VERTICES))
        imports = IMPORTED.format(names=libraries(folder))
        python, evenmark = [sys.executable, "-c"], [sys.executable, "-m", "preprocess"]
        calls = {
            "import typer": [*python, "import typer"],
            "evenmark --help": [*evenmark, "--help"],
            "imports of a run": [*python, imports],
            "evenmark run --no-heat": [*evenmark, "run", "recipe.yaml", "-o", "o.svg", "--no-heat"],
            "the fern job, no heat": [*evenmark, "run", FERN_JOB, "-o", "f.svg", "--no-heat"],
            "the fern job": [*evenmark, "run", FERN_JOB, "-o", "f.svg"],
        }
        found = {name: [] for name in calls}
        for _ in range(ROUNDS):
            for name, call in calls.items():
                found[name].append(seconds(call, folder))
    medians = (statistics.median(times) for times in found.values())
    typer, shown, imported, run, bare, heated = medians
    print(f"{'import typer':<40} {typer:.3f} s")
    print(f"{'evenmark --help':<40} {shown:.3f} s, {shown / typer:.2f} times; at most 3 wanted")
    print(f"{'imports of a run':<40} {imported:.3f} s")
    label = f"run --no-heat, fern of {VERTICES} points"
    print(f"{label:<40} {run:.3f} s, {run / imported:.2f} times; at most 3 wanted")
    print(f"{'the fern job, no heat':<40} {bare:.3f} s; at most 0.8 s wanted")
    print(f"{'the fern job':<40} {heated:.3f} s; at most 2.0 s wanted")


if __name__ == "__main__":
    main()
