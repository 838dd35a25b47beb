"""Reading of large drawings beside lxml, resvg and svgelements, all measured in this one run.

    python -m tests.benchmarks.reading          a million segments, 50 000 elements; some minutes
    python -m tests.benchmarks.reading 0.1      a tenth of each

Each reader has a process of its own, three times, in turn; the quickest counts. Its memory is the
growth of the peak over what its imports take. "walked" is everything up to paths in their own
units, "flattened" adds points in mm with chords within 5 µm, "read" is the whole reader: fill
rules, pages, layers. resvg draws ten pixels. All run with cycles sought seldom, as convert() does.
"""

from __future__ import annotations

import json
import math
import re
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from preprocess.process_limits import collect_garbage_rarely

SEGMENTS = 1_000_000
ELEMENTS = 50_000
TOLERANCE = 0.005
LIMIT_S = 600
ROUNDS = 3


SMALL = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h1v1z"/></svg>'
)


def paths(segments: int) -> str:
    """Wavy outlines of 200 segments, lines and cubics in turn, on a page of 200 mm."""
    rng = np.random.default_rng(4)
    return _page("".join(_outline(rng) for _ in range(segments // 200)))


def _outline(rng) -> str:
    at = rng.uniform(20, 180, 2)
    angle = np.arange(200) * math.tau / 200
    radius = rng.uniform(2, 12) * (1 + 0.1 * np.sin(9 * angle))
    x, y = at[0] + radius * np.cos(angle), at[1] + radius * np.sin(angle)
    parts = [f"M{x[0]:.4f} {y[0]:.4f}"]
    for i in range(1, 200, 2):
        parts.append(f"L{x[i]:.4f} {y[i]:.4f}")
        j = (i + 1) % 200
        bend = rng.uniform(-0.2, 0.2, 4)
        parts.append(
            f"C{x[i] + bend[0]:.4f} {y[i] + bend[1]:.4f} {x[j] + bend[2]:.4f} "
            f"{y[j] + bend[3]:.4f} {x[j]:.4f} {y[j]:.4f}"
        )
    return f'<path d="{"".join(parts)}Z"/>'


def elements(count: int) -> str:
    """Rectangles, circles and short paths in 100 groups that are moved, with one class."""
    rng = np.random.default_rng(5)
    groups = []
    for group in range(100):
        inside = "".join(_element(i, *rng.uniform(0, 190, 2)) for i in range(count // 100))
        groups.append(f'<g id="bed-{group}" transform="translate({group % 10} 0)">{inside}</g>')
    return _page("<style>.leaf{fill:#245;stroke:none}</style>" + "".join(groups))


def _element(number: int, x: float, y: float) -> str:
    kind = number % 3
    if kind == 0:
        return f'<rect class="leaf" x="{x:.3f}" y="{y:.3f}" width="3" height="2"/>'
    if kind == 1:
        return f'<circle class="leaf" cx="{x:.3f}" cy="{y:.3f}" r="1.5"/>'
    return f'<path class="leaf" d="M{x:.3f} {y:.3f}l2 1q1 1 0 2z"/>'


def _page(inside: str) -> str:
    size = 'width="200mm" height="200mm" viewBox="0 0 200 200"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{inside}</svg>'


def by_lxml():
    from lxml import etree

    return etree.fromstring


def by_resvg():
    import resvg_py

    return lambda data: resvg_py.svg_to_bytes(svg_string=data.decode(), width=10, dpi=96)


def by_svgelements():
    import io

    import svgelements

    return lambda data: svgelements.SVG.parse(io.BytesIO(data))


def walked():
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read import reader
    from preprocess.read.messages.remarks import Remarks
    from preprocess.read.walk.root_viewport import enter_root

    def walk(data):
        remarks = Remarks()
        scene = reader._scene(data, "bench.svg", ReadingOptions(), remarks)
        return reader._walked(scene, enter_root(scene).context)

    return walk


def flattened():
    from preprocess.read.shapes.fill_and_stroke import flatten_outlines

    walk = walked()
    return lambda data: flatten_outlines(walk(data), TOLERANCE)


def whole():
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.reader import read

    return lambda data: read(data, "bench.svg", ReadingOptions())


READERS = {
    "lxml": by_lxml,
    "resvg": by_resvg,
    "svgelements": by_svgelements,
    "walked": walked,
    "flattened": flattened,
    "read": whole,
}


def child(reader: str, path: str) -> None:
    """Measure one reader; prints processor seconds and MiB."""
    data = Path(path).read_bytes()
    call = READERS[reader]()
    call(SMALL)
    before = peak_kib()
    with collect_garbage_rarely():
        begin = time.process_time()
        kept = call(data)
        took = time.process_time() - begin
    after = peak_kib()
    points = _points(kept) if reader == "flattened" else 0
    print(json.dumps({"s": took, "mib": (after - before) / 1024, "points": points}))


def peak_kib() -> int:
    """The most memory that this program held; Linux counts that of its parent into ru_maxrss."""
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return int(re.search(r"VmHWM:\s*(\d+)", status.read_text())[1])


def _points(contours) -> int:
    return sum(len(contour.points) for one in contours for contour in one)


def measured(reader: str, path: Path) -> dict:
    command = [sys.executable, "-m", "tests.benchmarks.reading", "child", reader, str(path)]
    done = subprocess.run(command, check=True, capture_output=True, text=True, timeout=LIMIT_S)
    return json.loads(done.stdout)


def in_turn(path: Path) -> dict[str, dict]:
    """The quickest of some rounds in which all readers take turns: hours differ, rounds less."""
    rounds = [{reader: measured(reader, path) for reader in READERS} for _ in range(ROUNDS)]
    return {reader: min((one[reader] for one in rounds), key=_seconds) for reader in READERS}


def _seconds(figures: dict) -> float:
    return figures["s"]


def report(name: str, found: dict[str, dict], wanted: list[tuple[str, str, float]]) -> None:
    print(f"\n{name}")
    for reader, figures in found.items():
        ratios = " ".join(f"{figures['s'] / other['s']:9.2f}" for other in found.values())
        print(f"{reader:<12} {figures['s']:8.2f} s {figures['mib']:7.0f} MiB  {ratios}")
    for ours, theirs, most in wanted:
        ratio = found[ours]["s"] / found[theirs]["s"]
        verdict = "yes" if ratio <= most else "NO"
        print(f"{ours} at most {most} x {theirs}: {ratio:.2f} {verdict}")
    points = found["flattened"]["points"] * 16 / 2**20
    memory = (found["flattened"]["mib"] - points) / found["svgelements"]["mib"]
    verdict = "yes" if memory <= 0.5 else "NO"
    print(f"memory but for {points:.0f} MiB of points, x svgelements: {memory:.2f} {verdict}")


def main(share: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        cases = [
            (f"{int(SEGMENTS * share)} segments", paths(int(SEGMENTS * share)),
             [("walked", "svgelements", 0.2), ("flattened", "svgelements", 0.5)]),
            (f"{int(ELEMENTS * share)} elements", elements(int(ELEMENTS * share)),
             [("flattened", "svgelements", 1.0), ("flattened", "resvg", 8.0)]),
        ]  # fmt: skip
        for name, text, wanted in cases:
            path = Path(folder) / "bench.svg"
            path.write_text(text, "utf-8")
            report(name, in_turn(path), wanted)


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        child(*sys.argv[2:])
    else:
        main(float(sys.argv[1]) if sys.argv[1:] else 1.0)
