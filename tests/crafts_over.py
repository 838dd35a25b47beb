"""Carry out every craft pass on every drawing of folders, and prove what it did.

    python -m tests.crafts_over FOLDER… [--jobs N] [--only PASS] [--pixels N]

Each drawing is read, and each pass runs on it by itself (after strokes-to-areas and merge where it
wants areas). Proved are the ledger, the facts that the pass promises, that its geometry is valid,
and that what is written reads back as meant. Then resvg draws what is written before and after, a
pixel marked or not: wherever the two differ, the overlay has to tell of it, within two pixels. What
differs in lines a pixel thin is rounding on a pixel's edge and does not count.
"""

from __future__ import annotations

import argparse
import io
import multiprocessing
import sys
import time
from collections import Counter
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import resvg_py
import shapely
from PIL import Image
from scipy.ndimage import binary_dilation, binary_opening

from preprocess.engine import registry
from preprocess.errors import Refusal, UserError
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.source import Selection
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.testing import _check_written, check_outcome, read_artwork
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from tests.comparing.flat import NOT_WHITE, marked
from tests.comparing.ours import _data
from tests.processor_time import TooLongError, at_most

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.engine.contract import Params
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

RECIPE = """\
recipe: 1
settings:
  engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 30 %, speed: 250 mm/s}
passes: [keep-only: {only: {select: path, optional: true}}]
"""
PATHS = Selection(select="path", optional=True)
STEPS: dict[str, dict[str, object]] = {
    "join-overlaps": {},
    "drop-duplicates": {},
    "simplify": {"within": 0.02},
    "inset-tips": {"narrower_than": 0.5},
    "score-hairlines": {"narrower_than": 0.3},
    "score-edges": {"inset": 0.05},
    "compensate-spot": {"by": 0.03},
    "negative": {},
    "keep-clear": {},
    "keep-only": {"only": PATHS},
}
AS_READ = ("join-overlaps", "drop-duplicates", "keep-only")
"""These run on shapes as they were read, the others on one area for each layer."""

MOST_S = 120
"""Processor time that one pass may take on one drawing."""


def over(path: Path, names: tuple[str, ...], pixels: int) -> list[tuple[str, str, str]]:
    """What each pass did to one drawing: name of the pass, verdict, and what is wrong."""
    try:
        read, bench = read_artwork(path.read_bytes(), RECIPE)
        area = read
        for first in ("strokes-to-areas", "merge"):
            area = registry.load_pass(first)()(area, bench).artwork
    except UserError as error:
        return [(name, "not read", str(error)) for name in names]
    if not read.shapes:
        return [(name, "empty", "") for name in names]
    found = []
    for name in names:
        begin = time.process_time()
        step = registry.load_pass(name)(**STEPS[name])
        drawn = read if name in AS_READ else area
        try:
            with at_most(MOST_S):
                verdict, why = _one(step, _prepared(name, drawn), bench, pixels)
        except TooLongError:
            verdict, why = "slow", ""
        except Exception as error:  # noqa: BLE001 - all that goes wrong is to be listed
            verdict, why = "broken", f"{type(error).__name__}: {error}"
        found.append((name, verdict, why or f"{time.process_time() - begin:.1f} s"))
    return found


def _prepared(name: str, artwork: Artwork) -> Artwork:
    """With a part for those that need one, or a place to keep clear in its middle."""
    page = artwork.page
    box = shapely.box(page.left, page.top, page.left + page.width, page.top + page.height)
    if name == "negative":
        return replace(artwork, parts=(shapely.multipolygons([box]),))
    if name == "keep-clear":
        middle = box.centroid.buffer(min(page.width, page.height) / 4)
        return replace(artwork, keep_off=(shapely.multipolygons([middle]),))
    return artwork


def _one(step: Params, before: Artwork, bench: Bench, pixels: int) -> tuple[str, str]:
    try:
        outcome = step(before, bench)
    except Refusal as error:
        return "refused", str(error)
    check_outcome(step, before, outcome, bench)
    after = outcome.artwork
    _check_written(step, after)
    untold, changed = differing(before, after, pixels)
    if untold:
        return "untold", f"{untold} of {changed} pixels that changed are not in the overlay"
    return ("changed" if changed else "same"), ""


def differing(before: Artwork, after: Artwork, pixels: int) -> tuple[int, int]:
    """Pixels that changed without being told of, and all that changed."""
    page = before.page
    zoom = pixels / max(page.width, page.height)
    was, now = (_picture(_written(replace(a, page=page)), zoom) for a in (before, after))
    changed = was != now
    if not changed.any():
        return 0, 0
    told = np.zeros_like(changed)
    shown = _picture(_told(before, after), zoom)[: changed.shape[0], : changed.shape[1]]
    told[: shown.shape[0], : shown.shape[1]] = shown  # the page is rounded otherwise
    untold = binary_opening(changed & ~binary_dilation(told, iterations=2), np.ones((2, 2)))
    return int(untold.sum()), int(changed.sum())


def _written(artwork: Artwork) -> bytes:
    return svg_bytes(artwork, colours=assign_colours(output_layers(artwork), {}, None)[0])


def _told(before: Artwork, after: Artwork) -> bytes:
    """All that the overlay shows as changed, in black, each outline widened by a stroke."""
    told = compare_artworks(before, after)
    areas = (told.added, told.widened, told.removed, told.bars, told.hatched)
    lines = (told.new_lines, told.lost_lines)
    page = before.page
    box = f"{page.left} {page.top} {page.width} {page.height}"
    paths = [f'<path fill-rule="evenodd" stroke="#000" d="{_data(g)}"/>' for g in areas]
    paths += [f'<path fill="none" stroke="#000" d="{_data(g)}"/>' for g in lines]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width}mm" height="{page.height}mm" '
        f'viewBox="{box}"><g stroke-width="0.05">{"".join(paths)}</g></svg>'
    ).encode()


def _picture(svg: bytes, zoom: float) -> np.ndarray:
    """Marked or not, `zoom` pixels to the mm."""
    data = resvg_py.svg_to_bytes(
        svg_string=svg.decode(),
        dpi=96,
        zoom=zoom * 25.4 / 96,
        background="#ffffff",
        shape_rendering="crisp_edges",
    )
    return marked(Image.open(io.BytesIO(bytes(data))), NOT_WHITE)


def _paths(folders: list[str]) -> Iterator[Path]:
    for folder in folders:
        yield from sorted(Path(folder).rglob("*.svg"))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", action="append", choices=list(STEPS))
    parser.add_argument("--pixels", type=int, default=1200)
    asked = parser.parse_args()
    names = tuple(asked.only or STEPS)
    counts: Counter[tuple[str, str]] = Counter()
    files = list(_paths(asked.folders))
    with multiprocessing.Pool(asked.jobs, maxtasksperchild=10) as pool:
        work = partial(over, names=names, pixels=asked.pixels)
        for path, found in zip(files, pool.imap(work, files), strict=True):
            for name, verdict, why in found:
                counts[name, verdict] += 1
                if verdict not in {"same", "changed", "empty"}:
                    print(f"{path.name}: {name}: {verdict}: {why}", flush=True)
    verdicts = ("changed", "same", "refused", "empty", "not read", "slow", "untold", "broken")
    print(f"\n{len(files)} drawings")
    print(f"{'':<18}" + "".join(f"{verdict:>10}" for verdict in verdicts))
    for name in names:
        print(f"{name:<18}" + "".join(f"{counts[name, verdict]:>10}" for verdict in verdicts))
    return 1 if any(counts[name, v] for name in names for v in ("broken", "untold")) else 0


if __name__ == "__main__":
    sys.exit(main())
