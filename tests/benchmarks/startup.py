"""How long a command takes before it does anything, beside the imports that it cannot do without.

    python -m tests.benchmarks.startup          under a minute

Every line is the median of processes that are started in turn. "imports" are all modules of other
libraries that a run had loaded when it ended.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.drawings import fern
from tests.benchmarks.jobs import lay_out

ROUNDS = 9
VERTICES = 20_400
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
    begin = time.perf_counter()
    subprocess.run(call, cwd=folder, check=True, capture_output=True)
    return time.perf_counter() - begin


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
        }
        found = {name: [] for name in calls}
        for _ in range(ROUNDS):
            for name, call in calls.items():
                found[name].append(seconds(call, folder))
    typer, shown, imported, run = (statistics.median(times) for times in found.values())
    print(f"{'import typer':<40} {typer:.3f} s")
    print(f"{'evenmark --help':<40} {shown:.3f} s, {shown / typer:.2f} times; at most 3 wanted")
    print(f"{'imports of a run':<40} {imported:.3f} s")
    label = f"run --no-heat, fern of {VERTICES} points"
    print(f"{label:<40} {run:.3f} s, {run / imported:.2f} times; at most 3 wanted")


if __name__ == "__main__":
    main()
