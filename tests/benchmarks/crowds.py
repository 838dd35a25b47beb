"""Whole runs on the drawings that hurt: crowds of dots, hairlines, letters, large solids, stacks.

    python -m tests.benchmarks.crowds              all of them; about ten minutes
    python -m tests.benchmarks.crowds dots nested  some of them

Each line is a run in a process of its own: processor time and the most memory it held, without
heat, with heat, and with the overlay besides. The exponent is that from one size to the next of
the same kind. All drawings come from formulas.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tests.benchmarks import art
from tests.benchmarks.drawings import framed_frond, path
from tests.benchmarks.jobs import lay_out

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

WAYS = {"no heat": ["--no-heat"], "heat": [], "overlay": ["--no-heat", "--overlay", "o.svg"]}


@dataclass(frozen=True)
class Crowd:
    """A drawing at one size, with passes instead of those of the fern, and its figures wanted.

    `ways` names the runs that are measured, `aims` what each of them may take.
    """

    name: str
    size: int
    draw: Callable[[int], bytes]
    passes: str | None = None
    settings: str = "pitch: 0.1 mm"
    ways: tuple[str, ...] = ("no heat", "heat")
    aims: Mapping[str, str] = field(default_factory=dict)


def page(body: str, width: float, height: float) -> bytes:
    """An SVG of a size in mm, with the outline of a part as large as the page."""
    edge = (
        f'<path id="edge" fill="none" stroke="#888" stroke-width=".1" '
        f'd="M.05 .05H{width - 0.05:.2f}V{height - 0.05:.2f}H.05Z"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{body}{edge}</svg>'
    ).encode()


def dots(count: int) -> bytes:
    """Seeds of 0.8 mm on a lattice of 2 mm, each an element of its own, each a little askew."""
    across = math.isqrt(count)
    rng = np.random.default_rng(5)
    askew = rng.uniform(-0.2, 0.2, (count, 2))
    body = "".join(
        f'<circle cx="{2 * (n % across) + 2 + x:.3f}" cy="{2 * (n // across) + 2 + y:.3f}" r=".4"/>'
        for n, (x, y) in enumerate(askew)
    )
    side = 2 * across + 4
    return page(body, side, side)


def hairlines(count: int) -> bytes:
    """Hairs of a moth: filled slivers 0.08 mm wide and 6 mm long, side by side in rows."""
    x = np.linspace(0, 6, 13)
    rng = np.random.default_rng(6)
    rows = -(-count // 50)
    body = []
    for n in range(count):
        swing = 0.1 * np.sin(x * rng.uniform(0.5, 1.5) + rng.uniform(0, 6))
        y = 1 + 0.5 * (n // 50) + swing
        half = 0.04 * (1 - (x / 6) ** 4)
        left = 1 + 6.6 * (n % 50)
        ring = np.column_stack((np.r_[x, x[-2::-1]] + left, np.r_[y + half, (y - half)[-2::-1]]))
        body.append(f'<path d="{path(ring)}"/>')
    return page("".join(body), 332, 0.5 * rows + 2)


def letters(count: int) -> bytes:
    """Plant names in made-up letters 4 mm high, each letter a path."""
    columns = 50
    body = "".join(
        f'<path d="{"".join(path(np.add(part, (2, 2))) for part in letter)}"/>'
        for letter in art.lettering(count // columns, columns)
    )
    return page(body, 0.66 * 4 * columns + 6, 1.1 * 4 * (count // columns) + 6)


def solid(side: int) -> bytes:
    """A leaf with a wavy rim that fills a square page."""
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    reach = side / 2 * (0.93 + 0.03 * np.sin(9 * turn))
    middle = side / 2
    ring = np.column_stack((middle + reach * np.cos(turn), middle + reach * np.sin(turn)))
    return page(f'<path d="{path(ring)}"/>', side, side)


def nested(count: int) -> bytes:
    """A blend: so many outlines of one leaf inside one another, each filled."""
    turn = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    body = []
    for n in range(count):
        share = n / count
        reach = (18 * (1 - share) + 1) * (1 + 0.18 * (1 - share) * np.sin(5 * turn + 2 * share))
        ring = np.column_stack((20 + reach * np.cos(turn), 20 + 0.9 * reach * np.sin(turn)))
        grey = int(160 * share)
        body.append(f'<path d="{path(ring)}" fill="rgb({grey},{grey},{grey})"/>')
    return page("".join(body), 42, 42)


def crossed(side: int) -> bytes:
    """A square that is to be filled with rows of our own in two directions."""
    return page(f'<rect x="1" y="1" width="{side}" height="{side}"/>', side + 2, side + 2)


HATCH = "passes: [{hatch: {cross: true}}]\n"
MERGE = "passes: [merge]\n"
OVER = ("no heat", "overlay")
BOUNDED = {"heat": "5 s more than without, 1 GiB"}
FINE = "pitch: 0.05 mm"

CROWDS = (
    Crowd("traced frond", 27_000, framed_frond),
    Crowd("traced frond", 90_000, framed_frond),
    Crowd("traced frond", 267_000, framed_frond, aims={"no heat": "12 s, exponent 1.1"}),
    Crowd("dots", 10_000, dots, aims=BOUNDED),
    Crowd("dots", 100_000, dots, ways=("no heat",)),
    Crowd("hairlines", 2_000, hairlines),
    Crowd("hairlines", 20_000, hairlines, ways=("no heat",)),
    Crowd("letters", 2000, letters, aims=BOUNDED),
    Crowd("solid, fine rows, mm", 300, solid, MERGE, FINE, aims=BOUNDED),
    Crowd("solid, mm", 600, solid, MERGE, aims=BOUNDED),
    Crowd("nested blend", 50, nested, MERGE, ways=OVER),
    Crowd("nested blend", 100, nested, MERGE, ways=OVER, aims={"overlay": "3 s, 300 MiB"}),
    Crowd("crossed rows, mm", 10, crossed, HATCH, ways=OVER),
    Crowd("crossed rows, mm", 20, crossed, HATCH, ways=OVER, aims={"overlay": "5 s"}),
)


def laid_out(folder: Path, crowd: Crowd) -> Path:
    """The drawing with its recipe in a folder, on a field that is large enough."""
    recipe = lay_out(folder, crowd.draw(crowd.size))
    machine = folder / "bench.yaml"
    machine.write_text(machine.read_text("utf-8").replace("400 mm", "900 mm"), "utf-8")
    text = recipe.read_text("utf-8").replace("pitch: 0.1 mm", crowd.settings)
    if crowd.passes is not None:
        text = text.partition("passes:")[0] + crowd.passes
    recipe.write_text(text, "utf-8")
    return recipe


def measured(recipe: Path, words: list[str]) -> tuple[float, float]:
    """Seconds of processor time and MiB at most of a run, with its start-up."""
    call = [sys.executable, "-m", "preprocess", "run", recipe.name, "-o", "out.svg", *words]
    with tempfile.TemporaryFile() as told:
        child = subprocess.Popen(call, cwd=recipe.parent, stdout=told, stderr=told)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode:
            told.seek(0)
            sys.exit(told.read().decode())
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def lines(names: list[str]) -> Iterator[str]:
    """A line for each drawing and way, with the exponent where a smaller one came before."""
    before: dict[tuple[str, str], tuple[int, float]] = {}
    for crowd in CROWDS:
        if names and not any(name in crowd.name for name in names):
            continue
        with tempfile.TemporaryDirectory() as folder:
            recipe = laid_out(Path(folder), crowd)
            for way in crowd.ways:
                seconds, peak = measured(recipe, WAYS[way])
                size, less = before.get((crowd.name, way), (0, 0.0))
                grown = f"{math.log(seconds / less, crowd.size / size):.2f}" if size else ""
                before[crowd.name, way] = crowd.size, seconds
                yield (
                    f"{crowd.name:<26} {crowd.size:>8,} {way:<8} {seconds:>7.2f} s "
                    f"{peak:>6.0f} MiB {grown:>6}  {crowd.aims.get(way, '')}"
                )


if __name__ == "__main__":
    print(f"{'drawing':<26} {'size':>8} {'way':<8} {'CPU':>9} {'peak':>10} {'exp.':>6}  aim")
    for line in lines(sys.argv[1:]):
        print(line, flush=True)
