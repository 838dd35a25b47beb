"""Run the main passes over every SVG of a folder, and sum up what happened.

usage: python tests/corpus.py FOLDER [--jobs N] [--lines]

Each drawing goes through strokes-to-areas, merge, inset-tips, tag-power and equalize-width, with
a part as large as the drawing and a field with room. A run is good when it ends with exit 0, or
with exit 1 and a finding with a remedy. For those that were written, the script asks whether

- bars stand in every raster group,
- there is more than one zone where row spans differ,
- the area that resvg draws equals the ledger: input + bars − tips, within 0.5 %.

Every level is drawn by itself, so that the soft pixels of neighbours do not mix.
"""

from __future__ import annotations

import argparse
import io
import math
import multiprocessing
import re
import sys
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

LIMIT_S = 30
PIXELS = 3000
AREA_SHARE = 0.005

RECIPE = """\
recipe: 1
machine:
  name: corpus bench
  field: [{field_w} mm, {field_h} mm]
  spot: 0.06 mm
  turnaround: 1.2 ms
  fly_back: 2500 mm/s
part: {{outline: [{part_w} mm, {part_h} mm]}}
settings:
  engrave: {{power: 55 %, speed: 900 mm/s, pitch: {pitch} mm, direction: one-way, angle: 0 deg}}
  score: {{power: 30 %, speed: 250 mm/s}}
passes:
  - strokes-to-areas
  - merge
  - inset-tips: {{narrower_than: 0.4 mm, by: 0.05 mm}}
  - tag-power: {{by: row-span, levels: 3, powers: [100 %, 92 %, 84 %]}}
  - equalize-width: {{clearance: 2 mm, bar: 0.6 mm}}
"""


@dataclass
class Result:
    """What became of one drawing."""

    name: str
    exit: str
    seconds: float
    says: str = ""
    troubles: list[str] = field(default_factory=list)


def recipe_for(data: bytes) -> str:
    """A recipe whose part is as large as the drawing's page."""
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.reader import read

    artwork = read(data, "drawing", ReadingOptions()).artwork
    page = artwork.page
    cx, cy = page.centre
    half_w, half_h = page.width / 2, page.height / 2
    for shape in artwork.shapes:
        if shape.geometry.is_empty:
            continue
        x0, y0, x1, y1 = shape.geometry.bounds
        edge = shape.stroke.width_mm * 2 if shape.stroke else 0.0
        half_w = max(half_w, cx - x0 + edge, x1 - cx + edge)
        half_h = max(half_h, cy - y0 + edge, y1 - cy + edge)
    return RECIPE.format(
        field_w=2 * half_w + 100,
        field_h=2 * half_h + 100,
        part_w=2 * half_w,
        part_h=2 * half_h,
        pitch=round(max(0.1, 2 * half_h / 2000), 4),
    )


def drawn_areas(svg: str) -> dict[str, float]:
    """Area in mm² of each group of the output, as resvg draws it.

    The page is rounded up to whole units, because resvg cuts off what is left of a pixel.
    """
    import numpy as np
    import resvg_py
    from PIL import Image

    _, *groups = re.split(r"(?=<g )", svg)
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    width, height = (math.ceil(float(side)) for side in box.groups())
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}">'
    )
    scale = PIXELS / max(width, height)
    areas = {}
    for group in groups:
        body = group.split("</g>")[0] + "</g></svg>"
        if 'fill="none"' in body or "<image" in body:
            continue
        name = re.search(r'id="([^"]*)"', group)[1]
        png = resvg_py.svg_to_bytes(
            svg_string=head + body, dpi=96, width=max(1, round(width * scale))
        )
        alpha = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))[:, :, 3]
        areas[name] = float(alpha.sum()) / 255 * width * height / alpha.size
    return areas


def spans_differ(artwork, pitch: float) -> bool:
    """Whether a tenth of all rows is more than twice as wide as another tenth; measured by GEOS."""
    import numpy as np
    import shapely

    areas = [shape.geometry for shape in artwork.shapes if shape.is_engraved_area]
    whole = shapely.union_all(areas)
    x0, y0, x1, y1 = whole.bounds
    if y1 - y0 < 40 * pitch:
        return False
    rows = np.linspace(y0, y1, 42)[1:-1]
    lines = shapely.linestrings([[(x0 - 1, y), (x1 + 1, y)] for y in rows])
    bounds = shapely.bounds(shapely.intersection(lines, whole))
    spans = (bounds[:, 2] - bounds[:, 0])[~np.isnan(bounds[:, 0])]
    narrow, wide = np.quantile(spans, [0.1, 0.9])
    return bool(wide > 2 * narrow)


def examine(result, loaded) -> list[str]:
    """What is wrong with a conversion that was written."""
    from preprocess.marking.job.plan import RasterGroup, plan_of

    troubles = []
    groups = [s for s in plan_of(result.after, loaded.machine).steps if isinstance(s, RasterGroup)]
    if not all(any(shape.bars is not None for shape in group.shapes) for group in groups):
        troubles.append("a raster group without bars")
    levels = {shape.level for shape in result.after.shapes if shape.is_engraved_area}
    if groups and len(levels) == 1 and spans_differ(result.after, groups[0].pitch):
        troubles.append("one zone only, though row spans differ")
    before = result.amounts[0]
    changed = sum(c.added.area - c.removed.area for _, changes in result.ledger for c in changes)
    expected = sum(amount.area for amount in before.values()) + changed
    drawn = sum(drawn_areas(result.data.decode()).values())
    if abs(drawn - expected) > AREA_SHARE * expected:
        troubles.append(f"resvg draws {drawn:.3f} mm², the ledger says {expected:.3f} mm²")
    return troubles


def work(path: str) -> Result:
    """Convert one drawing; never raises."""
    from preprocess.errors import UserError
    from preprocess.pipeline import convert
    from preprocess.recipe.load import load_recipe

    start = time.perf_counter()
    name = Path(path).name

    def ended(how: str, says: str = "", troubles: list[str] | None = None) -> Result:
        return Result(name, how, time.perf_counter() - start, says, troubles or [])

    try:
        data = Path(path).read_bytes()
        loaded = load_recipe(None, recipe_for(data), path)
        result = convert(loaded, data, name)
        spent = time.perf_counter() - start
        if result.data is None:
            first = next(f for f in result.findings if f.severity == "stop")
            trouble = [] if first.remedy else ["a stop without a remedy"]
            return Result(name, "exit 1", spent, f"{first.code}: {first.message}", trouble)
        return Result(name, "exit 0", spent, "", examine(result, loaded))
    except UserError as error:
        first = error.complaints[0]
        return ended("exit 1", str(first), [] if first.remedy else ["a complaint without a remedy"])
    except BaseException as error:  # noqa: BLE001 - that is what we look for
        return ended("BUG", repr(error)[:300], [traceback.format_exc(limit=-3)])


def serve(inbox, outbox) -> None:
    """Worker process: one drawing after another."""
    while (path := inbox.recv()) is not None:
        outbox.send(work(path))


class Worker:
    """A process that can be killed when a drawing takes too long."""

    def __init__(self, paths: list[Path]) -> None:
        self.paths = paths
        self.start()

    def start(self) -> None:
        context = multiprocessing.get_context("spawn")
        mine, theirs = context.Pipe()
        answers, answer = context.Pipe(duplex=False)
        self.inbox, self.outbox = mine, answers
        self.process = context.Process(target=serve, args=(theirs, answer), daemon=True)
        self.process.start()

    def run(self, path: Path) -> Result:
        self.inbox.send(str(path))
        if self.outbox.poll(LIMIT_S + 20):
            result = self.outbox.recv()
            if result.seconds > LIMIT_S:
                result.troubles.append(f"took {result.seconds:.0f} s")
            return result
        self.process.kill()
        self.start()
        return Result(path.name, "HANG", LIMIT_S + 20, "", ["over the limit"])

    def stop(self) -> None:
        self.inbox.send(None)
        self.process.join(5)


def share(worker: Worker) -> list[Result]:
    """All results of one worker's paths."""
    results = [worker.run(path) for path in worker.paths]
    worker.stop()
    return results


def main() -> int:
    """Run, print one line per drawing that needs a look, then the sums."""
    from concurrent.futures import ThreadPoolExecutor

    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--lines", action="store_true", help="a line for every drawing")
    options = parser.parse_args()
    paths = sorted(options.folder.rglob("*.svg"))
    workers = [Worker(paths[i :: options.jobs]) for i in range(options.jobs)]
    with ThreadPoolExecutor(options.jobs) as pool:
        results = [result for part in pool.map(share, workers) for result in part]
    for result in sorted(results, key=lambda result: result.name):
        if options.lines or result.troubles or result.exit != "exit 0":
            print(f"{result.name}: {result.exit} in {result.seconds:.1f} s {result.says}")
            for trouble in result.troubles:
                print(f"    {trouble}")
    counts = Counter(result.exit for result in results)
    print(", ".join(f"{how}: {count}" for how, count in sorted(counts.items())))
    print(f"{sum(bool(r.troubles) for r in results)} of {len(results)} with troubles")
    return int(any(result.troubles for result in results))


if __name__ == "__main__":
    sys.exit(main())
