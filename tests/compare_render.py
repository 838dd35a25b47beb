"""Compare what the reader makes of SVG files with what renderers show, marked or not.

usage: python tests/compare_render.py FOLDER [--by flat|browser|either] [--browser PROGRAM]
       [--strict] [--solid] [--pixels N] [--lines] [--pictures OUT] [--every N] [--first N]
       [--only PART] [--jobs N] [--exceptions FILE]

Both pictures are drawn by the same renderer, without soft edges, over a white page; a pixel counts
as marked when it has at least 1 % of darkness (lightness by ITU-R BT.709), so that white paint
knocks out what lies under it. The renderer is resvg (flat), one headless Chromium for all files
(browser), or resvg first and Chromium where that disagrees (either). The reader is asked for the
same: to mark what has at least 1 % of darkness, flat or in a gradient. With --solid it keeps its
defaults, a gradient is one solid area, and a pixel counts as marked when it is not white.

A file agrees when IoU, the share of pixels marked in both among those marked in either, is at
least 0.98, or else, for hairlines and the like, when differences are one pixel thin and the
outlines lie within two pixels of one another (Hausdorff, 999 pixels in 1000). With --strict IoU
must be at least 0.985 and the marked area equal to 0.5 %. A file that differs by lines one pixel
thin is judged by the same rule once more on four times the pixels, at most 2000: there, lines
that were thinner than a pixel have a width that a renderer can show. Every disagreement is listed
under the finding that the reader made, "unexplained" when there is none that fits. A file of
exceptions has lines "NAME reason".
"""

from __future__ import annotations

import argparse
import atexit
import multiprocessing
import signal
import sys
import traceback
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image

from preprocess.errors import UserError
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.options.reading import ReadingOptions
from preprocess.model.options.shades import Shades
from preprocess.read.reader import read
from tests.comparing.agreement import Agreement, agreement
from tests.comparing.flat import NOT_WHITE, Flat
from tests.comparing.ours import PX_PER_MM, drawn

SLOW_S = 90
FINER, FINEST = 4, 2000
THIN = 0.005
"""A share of pixels that differ only one pixel thin, from which a closer look is worth while."""

EXPLAIN = (
    "text-needs-extra",
    "font-missing",
    "letter-missing",
    "font-substituted",
    "font-alternative",
    "text-style-ignored",
    "text-beyond-path",
    "text-left-out",
    "image-left-out",
    "image-opaque",
    "image-uncropped",
    "foreign-content-left-out",
    "filter-ignored",
    "mask-ignored",
    "pattern-cap",
    "too-many-shades",
    "gradient-as-solid",
    "gradient-cut",
    "shade-too-light",
    "see-through",
    "nearly-page-colour",
    "unknown-element",
    "broken-path",
    "outside-reference",
    "broken-reference",
    "text-outlined",
    "beyond-page",
)
"""Findings that name what may look different, the likeliest first."""

DARK = 0.01
SHOWN = ReadingOptions(
    shades=Shades(threshold=DARK, flat_fills=True), drawing=Drawing(faintest=0.0)
)
"""A recipe that marks whatever has at least that darkness."""

REFUSALS = frozenset({"refused", "renderer refuses"})
NOTHING = Agreement(0.0, 0.0, 0.0, 0.0)


@dataclass
class Result:
    """One file: how well it agrees, and why not."""

    name: str
    verdict: str
    measure: Agreement = NOTHING
    note: str = ""
    agrees: bool = False

    def text(self) -> str:
        m = self.measure
        figures = f"{m.iou:.4f} {m.near:.4f} {m.apart:5.1f} px {m.area:+8.2%}"
        return f"{figures} {self.name}: {self.verdict} {self.note}"


@dataclass(frozen=True)
class Asked:
    """What the command line asks for."""

    by: str
    browser: str
    pixels: int
    strict: bool
    pictures: Path | None
    solid: bool

    @property
    def least(self) -> float:
        return 0.985 if self.strict else 0.98


_WORKER: dict = {}


def _start(asked: Asked) -> None:
    _WORKER["asked"] = asked
    dark = NOT_WHITE if asked.solid else DARK
    _WORKER["renderers"] = [Flat(dark)] if asked.by != "browser" else []
    if asked.by != "flat":
        from tests.comparing.browser import Browser

        browser = Browser(asked.browser, dark)
        atexit.register(browser.close)
        _WORKER["renderers"].append(browser)


def compare(path: Path) -> Result:
    """Compare one file, in a worker that `_start` made ready."""
    signal.signal(signal.SIGALRM, _too_slow)
    signal.alarm(SLOW_S)
    try:
        wanted = ReadingOptions() if _WORKER["asked"].solid else SHOWN
        reading = read(path.read_bytes(), path.name, wanted)
        results = []
        for renderer in _WORKER["renderers"]:
            results += _judged(path, reading, renderer, _WORKER["asked"])
            if results[-1].agrees:
                break
        return max(results, key=lambda result: (result.agrees, result.measure.iou))
    except UserError as error:
        return Result(path.name, "refused", note=str(error)[:100])
    except TimeoutError:
        return Result(path.name, "SLOW", note=f"over {SLOW_S} s")
    except Exception:  # noqa: BLE001 - the script reports every crash
        last = traceback.format_exc().strip().splitlines()
        return Result(path.name, "CRASH", note=" | ".join(last[-3:])[:300])
    finally:
        signal.alarm(0)


def _too_slow(*_) -> None:
    raise TimeoutError


def _judged(path: Path, reading, renderer, asked: Asked) -> list[Result]:
    """One renderer's verdict, and that of a closer look where thin lines differ."""
    first = _compared(path, reading, renderer, asked)
    finer = min(FINER * asked.pixels, FINEST)
    if first.agrees or first.measure.near < first.measure.iou + THIN or finer <= asked.pixels:
        return [first]
    again = _compared(path, reading, renderer, replace(asked, pixels=finer))
    again.note = f"at {finer} px; {first.measure.iou:.4f} at {asked.pixels}"
    return [first, again]


def _compared(path: Path, reading, renderer, asked: Asked) -> Result:
    page = reading.artwork.page
    expected = (page.width * PX_PER_MM, page.height * PX_PER_MM)
    try:
        natural = renderer.size(path, expected)
        zoom = asked.pixels / max(natural)
        theirs = renderer.file(path, natural, zoom)
    except ValueError as error:
        return Result(path.name, "renderer refuses", note=str(error)[:100])
    if max(abs(a - b) for a, b in zip(expected, natural, strict=True)) > 1:
        found = f"{expected[0]:.1f} x {expected[1]:.1f} against {natural}"
        return Result(path.name, "size", note=found)
    ours = renderer.text(drawn(reading.artwork, theirs.shape[::-1], zoom))
    measure = agreement(ours, theirs)
    agrees = measure.holds(asked.least, strict=asked.strict)
    if asked.pictures and not agrees:
        kind = type(renderer).__name__.lower()
        picture(ours, theirs).save(asked.pictures / f"{path.stem}-{kind}.png")
    codes = {finding.code for finding in reading.findings}
    why = [code for code in EXPLAIN if code in codes]
    return Result(path.name, why[0] if why else "unexplained", measure, agrees=agrees)


def picture(ours, theirs) -> Image.Image:
    """Ours only: red; theirs only: blue; both: grey."""
    out = np.full((*ours.shape, 3), 255, np.uint8)
    out[ours & theirs] = 190
    out[ours & ~theirs] = (220, 0, 0)
    out[theirs & ~ours] = (0, 0, 220)
    return Image.fromarray(out)


def exceptions_of(path: Path | None) -> dict[str, str]:
    """Reasons by file name."""
    lines = path.read_text("utf-8").splitlines() if path else []
    return dict(line.split(maxsplit=1) for line in lines if line and not line.startswith("#"))


def summary(results: list[Result], excused: dict[str, str]) -> list[str]:
    """Totals, and classes of failure with their share."""
    refused = [r for r in results if r.verdict in REFUSALS]
    fails = [r for r in results if not r.agrees and r.verdict not in REFUSALS]
    good = len(results) - len(fails) - len(refused)
    lines = [f"{good} of {len(results)} agree; {len(refused)} refused by reader or renderer"]
    classes = Counter(
        "excused" if r.name in excused else r.verdict for r in results if not r.agrees
    )
    for verdict, count in classes.most_common():
        lines.append(f"{count:5} {count / len(results):7.2%} {verdict}")
    return lines


def main(arguments: list[str]) -> int:
    args = _arguments(arguments)
    files = [f for f in sorted(args.folder.rglob("*.svg")) if args.only in f.name and f.is_file()]
    files = files[:: args.every][: args.first]
    if args.pictures:
        args.pictures.mkdir(parents=True, exist_ok=True)
    asked = Asked(args.by, args.browser, args.pixels, args.strict, args.pictures, args.solid)
    excused, results = exceptions_of(args.exceptions), []
    with multiprocessing.Pool(args.jobs, _start, (asked,)) as pool:
        for result in pool.imap(compare, files):
            results.append(result)
            if args.lines or not result.agrees:
                print(result.text(), excused.get(result.name, ""), flush=True)
        pool.close()
        pool.join()
    print("\n".join(summary(results, excused)))
    return int(any(not r.agrees and r.name not in excused for r in results))


def _arguments(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--by", choices=("flat", "browser", "either"), default="flat")
    parser.add_argument("--browser", default="/usr/bin/chromium")
    parser.add_argument("--pixels", type=int, default=1000)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--first", type=int)
    parser.add_argument("--strict", action="store_true")
    parser.add_argument("--solid", action="store_true")
    parser.add_argument("--lines", action="store_true")
    parser.add_argument("--pictures", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--exceptions", type=Path)
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
