"""A series of many designs with one worker and two, beside make with a run for each design.

    python -m tests.benchmarks.throughput          some minutes; wants two idle cores

All three make the same outputs. They take turns, and the best of the rounds counts. The share that
two workers gain is that of the machine too: two bare processes that only count tell how much.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.benchmarks.drawings import fern
from tests.benchmarks.jobs import lay_out

DESIGNS = 60
ROUNDS = 2
MAKEFILE = """\
designs := $(wildcard design-*.svg)
all: $(patsubst %.svg,out/%.laser.svg,$(designs))
out/%.laser.svg: %.svg
\t{evenmark} run recipe.yaml $< -o $@ --no-heat --quiet
"""


def counted(_: int) -> int:
    return sum(number * number for number in range(20_000_000))


def wall(call) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin


def cores() -> float:
    """How much faster two processes do twice the work of one that only counts."""
    with ProcessPoolExecutor(2) as pool:
        list(pool.map(counted, range(2)))
        one = wall(lambda: list(pool.map(counted, range(1))))
        two = wall(lambda: list(pool.map(counted, range(2))))
    return 2 * one / two


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        recipe = lay_out(folder, b"")
        recipe.write_text(recipe.read_text().replace("design: design.svg\n", ""))
        (folder / "design.svg").unlink()
        for number in range(DESIGNS):
            (folder / f"design-{number:02}.svg").write_bytes(fern(8000 + 40 * number))
        evenmark = f"{sys.executable} -m preprocess"
        (folder / "Makefile").write_text(MAKEFILE.format(evenmark=evenmark))
        (folder / "out").mkdir()
        series = [sys.executable, "-m", "preprocess", "series", "recipe.yaml", "design-*.svg"]
        calls = {
            "series, 1 worker": [*series, "-d", "out", "--again", "--no-heat", "--workers", "1"],
            "series, 2 workers": [*series, "-d", "out", "--again", "--no-heat", "--workers", "2"],
            "make -j2": ["make", "-B", "-s", "-j2"],
        }
        best = dict.fromkeys(calls, float("inf"))
        for _ in range(ROUNDS):
            for label, call in calls.items():
                best[label] = min(best[label], wall(lambda c=call: _run(c, folder)))
        made = len(list((folder / "out").glob("*.laser.svg")))
    print(
        f"{made} designs; load {os.getloadavg()[0]:.1f}; two processes do {cores():.2f} times one"
    )
    one = best["series, 1 worker"]
    for label, seconds in best.items():
        print(
            f"{label:<20} {seconds:>7.2f} s {DESIGNS / seconds:>7.2f} designs/s {one / seconds:.2f}"
        )


def _run(call: list[str], folder: Path) -> None:
    subprocess.run(call, cwd=folder, check=True, capture_output=True)


if __name__ == "__main__":
    main()
